"""Every page there is, by the name of its address: whom to send there, when, and what to do once there."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from playwright.sync_api import Page

from scheduling.management.demo.company import PASSWORD
from scheduling.models import Crew, Pour, User
from scheduling.services import booking, daylinks
from tests import factories
from tests.browser.served import MONDAY, NOW

# Wednesday at eight in the morning: crew Ash is placing, and booked twice.
WEDNESDAY = datetime(2026, 9, 2, 13, 0, tzinfo=UTC)


FRIDAY = WEDNESDAY + timedelta(days=2)


@dataclass(frozen=True)
class Visit:
    """A page as one person sees it. `address` is asked once the rows are there."""

    name: str
    of: str
    address: Callable[[], str]
    username: str = "office"
    at: datetime = NOW
    then: Callable[[Page], None] | None = None
    language: str = "en"


def sign_in(page: Page, username: str, address: str = "/sign-in/") -> None:
    """Through the door, as people do it."""
    page.goto(address)
    page.get_by_label("Name").fill(username)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()


def to(address: str) -> Callable[[], str]:
    return lambda: address


def pour_at(more: str = "", title: str = "floor, to the doors") -> Callable[[], str]:
    return lambda: f"/pours/{Pour.objects.get(title=title).pk}/{more}"


def two_plans() -> str:
    pour = Pour.objects.get(title="floor, to the doors")
    booking.change_pour(
        pour=pour, version=pour.version, by=pour.booked_by, now=NOW, accept_clashes=True, people=4
    )
    return f"/pours/{pour.pk}/plans/"


def better_week() -> str:
    asked = factories.proposal(monday=datetime.fromisoformat(MONDAY).date(), state="asked", result=None)
    return f"/week/?day={asked.monday}"


def move_form() -> str:
    return f"/week/?move={Pour.objects.get(title='garage').pk}#move"


def one_crew() -> str:
    return f"/week/?day={MONDAY}&crew={Crew.objects.get(name='Ash').pk}"


def replies() -> str:
    factories.reply(User.objects.get(username="ash"), body="gate is locked", received_at=NOW)
    return "/messages/due/"


def phone_day(title: str) -> Callable[[], str]:
    """The link of the lead's morning text, to the day of this pour."""

    def address() -> str:
        pour = Pour.objects.get(title=title)
        link = daylinks.issue(crew=pour.crew, lead=pour.crew.lead, pours=[pour], now=NOW)
        return f"/d/{daylinks.token_of(link)}"

    return address


def crew_rates() -> str:
    return f"/crews/{Crew.objects.get(name='Ash').pk}/rates/"


def ask_for_cures(page: Page) -> None:
    page.get_by_role("link", name="What would cure it").first.click()
    page.get_by_role("heading", level=1).wait_for()


def say_the_walk(page: Page) -> None:
    """The slab of 52 by 38 feet, for a job there is already."""
    page.get_by_label("Job", exact=True).select_option(index=1)
    page.get_by_label("Day", exact=True).fill("2026-09-04")
    page.get_by_label("First truck at").fill("07:00")
    page.get_by_label("Length", exact=True).fill("52'")
    page.get_by_label("Width", exact=True).fill("38'")
    page.get_by_label("Thickness", exact=False).first.fill("5 in")
    page.get_by_label("Plant and mix").select_option(index=1)
    page.get_by_label("Crew", exact=True).select_option(index=1)


def show_plan(page: Page) -> None:
    say_the_walk(page)
    page.get_by_role("button", name="Show the plan").last.click()
    page.get_by_text("The plan, not booked yet").wait_for()


def book_nothing(page: Page) -> None:
    page.get_by_role("button", name="Book it").last.click()
    page.get_by_role("alert").first.wait_for()


def ranked(page: Page) -> None:
    page.locator(".starts").first.wait_for()


VISITS = (
    Visit("week", "this one, nothing booked", to("/")),
    Visit("week-of", "the booked one", to(f"/week/?day={MONDAY}"), "dispatch"),
    Visit("week-of", "a pour to be moved", move_form, "dispatch"),
    Visit("week-of", "one crew's", one_crew, "dispatch"),
    Visit("week-rules", "with the week", to(f"/week/rules/?day={MONDAY}"), "dispatch"),
    Visit("week-of", "a lead's", to(f"/week/?day={MONDAY}"), "ash"),
    Visit("week-of", "a better one under way", better_week, "dispatch"),
    Visit("week-cures", "of a clash", to(f"/week/?day={MONDAY}"), "dispatch", NOW, ask_for_cures),
    Visit("week-cures", "of nothing", to("/week/cures/"), "dispatch"),
    Visit("today", "under way", to("/today/"), "dispatch", WEDNESDAY),
    Visit("today", "nothing booked", to("/today/"), "dispatch"),
    Visit("sign-in", "a stranger's", to("/sign-in/"), ""),
    Visit("messages", "sent", to("/messages/")),
    Visit("drafts", "Monday's", to(f"/messages/morning/?day={MONDAY}")),
    Visit("on-call", "with a reply to read", replies),
    Visit("book", "empty", to("/pours/book/")),
    Visit("book", "with its plan", to("/pours/book/"), "office", NOW, show_plan),
    Visit("book", "with what is missing", to("/pours/book/"), "office", NOW, book_nothing),
    Visit("pour", "booked", pour_at()),
    Visit("pour", "booked twice", pour_at(title="workshop"), "dispatch"),
    Visit("pour", "a lead's", pour_at(), "ash"),
    Visit("pour-sheet", "the floor's", pour_at("sheet/"), "ash"),
    Visit("pour-plans", "two of the floor's", two_plans),
    Visit("pours-import", "no file yet", to("/pours/import/")),
    Visit("pour-starts", "the floor's", pour_at("starts/"), then=ranked),
    Visit("my-calendar", "no link yet", to("/calendar/"), "ash"),
    Visit("crew-rates", "nothing learned", crew_rates, "dispatch"),
    Visit("phone", "by link", phone_day("garage"), "", WEDNESDAY),
    Visit("phone", "in Spanish", phone_day("round plaza"), "", FRIDAY, language="es"),
    Visit("phone", "a link that never was", to("/d/xxxxxxxxxxxx"), ""),
    Visit("pour-day", "under way", pour_at("day/", "garage"), "ash", WEDNESDAY),
)

# Addresses that are no pages: what forms send to, what machines ask for, and pieces of pages above.
FORMS = frozenset(
    {
        "week-ask", "week-move", "week-stop", "week-take", "week-cure", "sign-out", "language", "reply-seen",
        "texts-agreed", "texts-stopped", "text-arrived", "text-again", "pour-day-note", "pour-day-undo",
        "pour-move", "pour-papers", "pour-spotter", "pour-hold", "pour-release", "pour-cancel",
        "pour-weather", "pour-plan", "pour-day-seen",
        "order-called", "order-confirmed", "calendar-link", "calendar-take-back", "crew-rates-reset",
        "phone-note", "phone-undo", "day-link-renew", "day-link-revoke",
    }
)  # fmt: skip
MACHINES = frozenset(
    {"health", "text-replies", "text-receipts", "calendar-feed", "phone-worker", "pours-export"}
)
PIECES = frozenset(
    {
        "week-progress", "phone-photo", "pour-photo", "book-typed", "book-starts", "book-rules",
        "pour-beside", "pour-starts-ranked",
    }
)  # fmt: skip

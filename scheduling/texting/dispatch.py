"""Words to dispatch about people and their texts, and what people are answered when they text."""

from datetime import datetime

from django.utils.translation import gettext

from scheduling.texting.clock import day_name, the_clock
from scheduling.texting.segments import to_gsm
from scheduling.texting.wording import PourFacts, clip

BEGINNING_LENGTH = 60
SAID_LENGTH = 200
NAME_LENGTH = 40


def lost_text(reason: str, body: str) -> str:
    """A text will never arrive: why, and how it begins."""
    words = gettext("NOT TEXTED: {reason}. It said: {said}")
    return to_gsm(words.format(reason=reason, said=clip(body, BEGINNING_LENGTH)))


def no_text(who: str, phone: str, body: str) -> str:
    """Somebody answered no to an assignment."""
    words = gettext("{who} ({phone}) answered NO to: {said}")
    return to_gsm(words.format(who=who, phone=phone, said=clip(body, BEGINNING_LENGTH)))


def late_text(who: str, phone: str, minutes: int | None, body: str) -> str:
    """Somebody runs late, by so many minutes where they said."""
    words = (
        gettext("{who} ({phone}) runs {minutes} min late")
        if minutes
        else gettext('{who} ({phone}) runs late: "{said}"')
    )
    said = clip(body, SAID_LENGTH)
    return to_gsm(words.format(who=who, phone=phone, minutes=minutes, said=said))


def day_link_text(pour: PourFacts, link: str) -> str:
    """To a lead who asked for another link to the day."""
    words = gettext("{place}, {day}: your page for that day. The one you had no longer opens. {link}")
    return to_gsm(words.format(place=pour.place, day=day_name(pour.starts_at), link=link))


def unclear_text(who: str, phone: str, body: str) -> str:
    """Somebody texted what only a person can read."""
    words = gettext('{who} ({phone}) texted: "{said}"')
    return to_gsm(words.format(who=who, phone=phone, said=clip(body, SAID_LENGTH)))


def unanswered_text(who: str, phone: str, pour: PourFacts, *, reached: bool, reason: str = "") -> str:
    """The lead has not said yes to the morning text, and the crew must soon stand on site."""
    why = gettext("has not answered the morning text") if reached else gettext("got no morning text")
    words = gettext("{who} ({phone}) {why}. Crew due {the_clock} at {place}. Phone now.")
    due, why = the_clock(pour.call_at), f"{why} ({reason})" if reason else why
    return to_gsm(words.format(who=who, phone=phone, why=why, place=pour.place, the_clock=due))


def passed_on_text(said: str, plants: list[tuple[str, str, int]]) -> str:
    """A trouble on site that nobody has said they see to."""
    words = gettext("NOBODY SEES TO IT: {said}").format(said=said)
    if plants:
        name, phone, minutes = plants[0]
        other = gettext("Another plant: {name}, {phone}, {minutes} min at least.")
        words = f"{words} {other.format(name=clip(name, NAME_LENGTH), phone=phone, minutes=minutes)}"
    return to_gsm(words)


def people_short_text(place: str, there: int, planned: int) -> str:
    """Fewer came than the trucks were spaced for."""
    words = gettext(
        "{place}: {there} of {planned} people are there. See the day's page for which trucks to hold."
    )
    return to_gsm(words.format(place=clip(place, NAME_LENGTH), there=there, planned=planned))


def relief_text(place: str, hours: float) -> str:
    """The crew has been at it as long as anybody may."""
    words = gettext("{place}: the crew has been at it {hours} h and finishing is not done. Send relief.")
    return to_gsm(words.format(place=clip(place, NAME_LENGTH), hours=f"{hours:g}"))


def cut_unanswered_text(place: str, try_at: datetime) -> str:
    """The first cut was to be tried, and nobody has said how it went."""
    words = gettext(
        "{place}: the first cut was to be tried from {the_clock} and nobody has said how it went. Is it cut?"
    )
    return to_gsm(words.format(place=clip(place, NAME_LENGTH), the_clock=the_clock(try_at)))


def unattended_text(place: str, by_at: datetime) -> str:
    """Nobody has said that finishing is done, though it should be."""
    words = gettext(
        "{place}: finishing was to be done {the_clock} and nobody noted that it is. Is somebody at the slab?"
    )
    return to_gsm(words.format(place=clip(place, NAME_LENGTH), the_clock=the_clock(by_at)))

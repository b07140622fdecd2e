"""The week on one page: days across, crews down, and where people are booked twice."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import MAXYEAR, MINYEAR, date, datetime
from zoneinfo import ZoneInfo

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from scheduling.models import Company, OrderState, PlantOrder, Pour, PourState, User
from scheduling.pages.access import needs, person
from scheduling.pages.betterweek import better_week
from scheduling.pages.broken import BrokenWords, broken_words
from scheduling.pages.clashes import ClashWords, clash_needs, clash_words, pour_name, site_zone
from scheduling.pages.clock import day_words, long_day
from scheduling.pages.plans import first_to_say, plan_stretches, weather_words
from scheduling.pages.strips import SAID, DayClock, Stretch, Strip, day_clock, next_day_words, strip
from scheduling.pages.weather import weather_trouble
from scheduling.pages.wording import Words
from scheduling.queries.clashes import PourClash
from scheduling.queries.week import WeekView, local_day, week_span, week_view
from scheduling.queries.weekrules import broken_rules
from scheduling.roles import Right

MOST_ROWS = 31  # what the stylesheet has rows for
WEEKEND = (6, 7)
ORDER_SAID = {
    OrderState.TO_CALL.value: "to call in",
    OrderState.CALLED.value: "called in",
    OrderState.CONFIRMED.value: "confirmed",
}


@dataclass(frozen=True)
class Card:
    """One pour on the board."""

    pk: int
    time: str
    name: str
    amount: str
    order_state: str
    order: str
    on_hold: bool
    is_placed: bool
    strip: Strip | None
    later: str
    clashes: tuple[str, ...]
    severity: str
    finding: str
    air: str
    drying: str


@dataclass(frozen=True)
class Cell:
    crew: str
    cards: tuple[Card, ...]


@dataclass(frozen=True)
class Day:
    name: str
    is_today: bool
    is_quiet: bool
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class Board:
    title: str
    summary: str
    before: date
    after: date
    is_this_week: bool
    is_empty: bool
    css: str
    crews: tuple[str, ...]
    days: tuple[Day, ...]
    clock: DayClock
    clashes: tuple[ClashWords, ...]
    key: tuple[tuple[str, str], ...] = tuple(SAID.items())

    @property
    def unsettled(self) -> int:
        """Clashes nobody has said yes to."""
        return sum(not clash.accepted for clash in self.clashes)


@needs(Right.SEE_WEEK)
def week(request: HttpRequest) -> HttpResponse:
    """The week of `?day=`, or this one."""
    return show_week(request)


def show_week(
    request: HttpRequest,
    day: date | None = None,
    problem: str = "",
    status: int = 200,
    clashing: Sequence[PourClash] = (),
) -> HttpResponse:
    """The page of the week that holds that day, with what could not be done and what it would run into."""
    words = Words.of(Company.objects.first())
    today = timezone.now().astimezone(words.office).date()
    day = day or asked_day(request.GET.get("day", ""), today)
    view = week_view(person(request), day)
    shown = {
        "board": board(view, today, words),
        "better": better_week(view, person(request), words),
        "broken": _broken(view, person(request), words),
        "problem": problem,
        "clashing": [clash_words(clash, words.units) for clash in clashing],
        "weather_trouble": weather_trouble(person(request), timezone.now()),
        "here": "week",
    }
    return render(request, "pages/week.html", shown, status=status)


def _broken(view: WeekView, user: User, words: Words) -> list[BrokenWords]:
    """Rules the week breaks beside people booked twice, for those who see all of it."""
    if not user.may(Right.SEE_ALL_POURS) or not view.pours:
        return []
    start, end = week_span(view.monday, view.zone)
    return [broken_words(rule, words) for rule in broken_rules(start, end, timezone.now())]


def asked_day(said: str, today: date) -> date:
    """The day somebody asks for; a day that is none, or has no week around it, is not there."""
    if not said:
        return today
    try:
        day = date.fromisoformat(said)
    except ValueError as wrong:
        raise Http404 from wrong
    if not MINYEAR < day.year < MAXYEAR:
        raise Http404
    return day


def board(view: WeekView, today: date, words: Words) -> Board:
    """Everything the page shows, in words and percents."""
    clock = day_clock(_span(pour) for pour in view.pours if pour.plan)
    crews = tuple(row.crew.name if row.crew else "No crew yet" for row in view.rows)
    days = tuple(_day(view, n, today, clock, words) for n in range(7))
    quiet = [f"quiet-{n}" for n, day in enumerate(days, start=1) if day.is_quiet and n in WEEKEND]
    return Board(
        title=f"Week of {long_day(view.monday, words.units).split(' ', 1)[1]}",
        summary=_summary(view.pours, words),
        before=view.before,
        after=view.after,
        is_this_week=view.monday <= today < view.after,
        is_empty=not view.pours,
        css=" ".join([f"rows-{min(MOST_ROWS, len(crews) + 1)}", *quiet]),
        crews=crews,
        days=days,
        clock=clock,
        clashes=tuple(clash_words(clash, words.units) for clash in view.clashes),
    )


def _span(pour: Pour) -> tuple[datetime, datetime, ZoneInfo]:
    stretches = stretches_of(pour)
    return stretches[0].starts_at, max(s.ends_at for s in stretches), site_zone(pour)


def stretches_of(pour: Pour) -> list[Stretch]:
    """What the pour's plan keeps people busy with, in order of time; nothing where there is no plan."""
    return plan_stretches(pour, pour.plan.result) if pour.plan else []


def _summary(pours: Sequence[Pour], words: Words) -> str:
    if not pours:
        return ""
    ordered = sum(pour.plan.order_m3 for pour in pours if pour.plan)
    to_call = sum(order.state == OrderState.TO_CALL for pour in pours for order in standing_orders(pour))
    return " · ".join(
        (
            f"{len(pours)} pour{'s' if len(pours) > 1 else ''}",
            words.volume(ordered),
            f"{to_call} order{'s' if to_call > 1 else ''} to call in" if to_call else "every order called in",
        )
    )


def standing_orders(pour: Pour) -> list[PlantOrder]:
    """The orders the week's query fetched with the pour."""
    return getattr(pour, "standing_orders", [])


def _day(view: WeekView, n: int, today: date, clock: DayClock, words: Words) -> Day:
    on = view.days[n]
    cells = tuple(
        Cell(
            crew=row.crew.name if row.crew else "No crew yet",
            cards=tuple(_card(pour, view.clashes, clock, words) for pour in row.days[n].pours),
        )
        for row in view.rows
    )
    return Day(day_words(on, words.units), on == today, not any(cell.cards for cell in cells), cells)


def _card(pour: Pour, clashes: Sequence[PourClash], clock: DayClock, words: Words) -> Card:
    zone = site_zone(pour)
    mine = [clash for clash in clashes if pour in clash.pours]
    order = next(iter(standing_orders(pour)), None)
    first = first_to_say(pour.plan.result, zone, words) if pour.plan else None
    stretches = stretches_of(pour)
    day = local_day(pour)
    air, drying = weather_words(pour.plan.result, words) if pour.plan else ("", "")
    spans = [(clash.starts_at, clash.ends_at) for clash in mine]
    return Card(
        pk=pour.pk,
        time=words.clock(pour.starts_at, zone),
        name=pour_name(pour),
        amount=words.ordered(pour.plan.order_m3) if pour.plan else "",
        order_state=order.state if order else "",
        order=ORDER_SAID[order.state] if order else "",
        on_hold=pour.state == PourState.ON_HOLD,
        is_placed=pour.state == PourState.PLACED,
        strip=strip(stretches, spans, clock, day, zone, words.units) if stretches else None,
        later=next_day_words(stretches, day, zone, words.units),
        clashes=tuple(_clash_on_card(clash, zone, words) for clash in mine),
        severity=first.severity if first else "",
        finding=first.words if first else "",
        air=air,
        drying=drying,
    )


def _clash_on_card(clash: PourClash, zone: ZoneInfo, words: Words) -> str:
    when = words.from_to(clash.starts_at, clash.ends_at, zone)
    return f"{when}: {clash_needs(clash)}{' (accepted)' if clash.accepted else ''}"

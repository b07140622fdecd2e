"""The board of the week: its days down, each along one clock, with its weather above and its pours below."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from textwrap import shorten
from zoneinfo import ZoneInfo

from django.urls import reverse
from django.utils.http import urlencode

from scheduling.models import OrderState, PlantOrder, Pour, PourState
from scheduling.pages.clashes import ClashWords, clash_needs, clash_words, pour_name, site_zone
from scheduling.pages.clock import day_words, long_day
from scheduling.pages.plans import first_to_say, plan_stretches
from scheduling.pages.strips import (
    ON_BOARD_PERCENT,
    SAID,
    DayClock,
    Stretch,
    Strip,
    day_clock,
    next_day_words,
    strip,
)
from scheduling.pages.weekplace import Place
from scheduling.pages.weeksky import Sky, day_sky
from scheduling.pages.wording import Words
from scheduling.queries.clashes import PourClash
from scheduling.queries.week import WeekView, local_day

WEEKEND = (5, 6)
NO_CREW = "No crew yet"
# So many lines still print at this size on one page (measured); more of them take the next smaller one.
ROOMY_LINES, SNUG_LINES = 14, 24
# On a board with more pours only what forbids one is said; the rest is on its own page (our choice).
FULL_BOARD = 50
MOST_SIGNS = 130  # of a finding: about a line
ORDER_SAID = {
    OrderState.TO_CALL.value: "to call in",
    OrderState.CALLED.value: "called in",
    OrderState.CONFIRMED.value: "confirmed",
}


@dataclass(frozen=True)
class CardClash:
    said: str
    cures_url: str


@dataclass(frozen=True)
class Card:
    """One pour on the board."""

    pk: int
    version: int
    start: str  # as a field takes it
    time: str
    name: str
    amount: str
    order_state: str
    order: str
    on_hold: bool
    is_placed: bool
    strip: Strip | None
    later: str
    clashes: tuple[CardClash, ...]
    severity: str
    finding: str
    move_url: str  # empty where it is not to be moved


@dataclass(frozen=True)
class CrewLine:
    """A crew's pours of a day; `key` is what a form says for the crew."""

    key: str
    crew: str
    cards: tuple[Card, ...]


@dataclass(frozen=True)
class Day:
    on: date
    name: str
    is_today: bool
    lines: tuple[CrewLine, ...]
    free: tuple[tuple[int, str], ...]  # crews without a pour
    sky: Sky | None
    lost_url: str  # to call it rained out; empty where nothing is lost by that

    @property
    def count(self) -> int:
        return sum(len(line.cards) for line in self.lines)


@dataclass(frozen=True)
class Board:
    title: str
    summary: str
    before: date
    after: date
    is_this_week: bool
    is_empty: bool
    has_crews: bool
    size: str
    days: tuple[Day, ...]
    clock: DayClock
    clashes: tuple[ClashWords, ...]
    key: tuple[tuple[str, str], ...] = tuple(SAID.items())

    @property
    def unsettled(self) -> int:
        """Clashes nobody has said yes to."""
        return sum(not clash.accepted for clash in self.clashes)


def board(view: WeekView, place: Place, today: date, words: Words, *, may_move: bool) -> Board:
    """Everything the board shows, in words and percents."""
    clock = day_clock(_span(pour) for pour in view.pours if pour.plan)
    by_pour: dict[int, list[PourClash]] = {}
    for clash in view.clashes:
        for pour in clash.pours:
            by_pour.setdefault(pour.pk, []).append(clash)
    is_full = len(view.pours) > FULL_BOARD
    drawing = _Drawing(clock, by_pour, place, words, may_move=may_move, is_full=is_full)
    days = tuple(drawing.day(view, n, today) for n in range(7))
    return Board(
        title=f"Week of {long_day(view.monday, words.units).split(' ', 1)[1]}",
        summary=_summary(view.pours, words),
        before=view.before,
        after=view.after,
        is_this_week=view.monday <= today < view.after,
        is_empty=not view.pours,
        has_crews=bool(view.crews),
        size=_size(len(view.pours)),
        days=tuple(day for n, day in enumerate(days) if day.lines or n not in WEEKEND),
        clock=clock,
        clashes=tuple(clash_words(clash, words.units) for clash in view.clashes),
    )


def _size(lines: int) -> str:
    if lines <= ROOMY_LINES:
        return "roomy"
    return "snug" if lines <= SNUG_LINES else "tight"


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
    return f"{len(pours)} pour{'s' if len(pours) > 1 else ''} · {words.volume(ordered)}"


def standing_orders(pour: Pour) -> list[PlantOrder]:
    """The orders the week's query fetched with the pour."""
    return getattr(pour, "standing_orders", [])


class _Drawing:
    """Days and cards in the making: what they all share is kept here."""

    def __init__(
        self,
        clock: DayClock,
        clashes: dict[int, list[PourClash]],
        place: Place,
        words: Words,
        *,
        may_move: bool,
        is_full: bool,
    ) -> None:
        self.clock, self.clashes, self.place, self.words = clock, clashes, place, words
        self.may_move, self.is_full = may_move, is_full

    def day(self, view: WeekView, n: int, today: date) -> Day:
        on = view.days[n]
        busy = [(row.crew, row.days[n].pours) for row in view.rows if row.days[n].pours]
        return Day(
            on=on,
            name=day_words(on, self.words.units),
            is_today=on == today,
            lines=tuple(
                CrewLine(
                    str(crew.pk) if crew else "none",
                    crew.name if crew else NO_CREW,
                    tuple(self.card(pour) for pour in pours),
                )
                for crew, pours in busy
            ),
            free=tuple(
                (row.crew.pk, row.crew.name)
                for row in view.rows
                if row.crew and row.crew.active and not row.days[n].pours
            ),
            lost_url=f"{self.place.address(on, lost=on)}#rained-out" if busy and on >= today else "",
            sky=day_sky([pour for _, pours in busy for pour in pours], on, self.clock, self.words),
        )

    def card(self, pour: Pour) -> Card:
        zone, words, day = site_zone(pour), self.words, local_day(pour)
        mine = self.clashes.get(pour.pk, [])
        order = next(iter(standing_orders(pour)), None)
        first = first_to_say(pour.plan.result, zone, words) if pour.plan else None
        if self.is_full and first and first.severity != "stop":
            first = None
        stretches = stretches_of(pour)
        spans = [(clash.starts_at, clash.ends_at) for clash in mine]
        movable = self.may_move and pour.is_standing
        return Card(
            pk=pour.pk,
            version=pour.version,
            start=f"{pour.starts_at.astimezone(zone):%H:%M}",
            time=words.clock(pour.starts_at, zone),
            name=pour_name(pour),
            amount=words.ordered(pour.plan.order_m3) if pour.plan else "",
            order_state=order.state if order else "",
            order=ORDER_SAID[order.state] if order else "",
            on_hold=pour.state == PourState.ON_HOLD,
            is_placed=pour.state == PourState.PLACED,
            strip=strip(stretches, spans, self.clock, day, zone, words.units, ON_BOARD_PERCENT)
            if stretches
            else None,
            later=next_day_words(stretches, day, zone, words.units),
            clashes=tuple(self._clashes(mine, zone)),
            severity=first.severity if first else "",
            finding=shorten(first.words, MOST_SIGNS, placeholder="…") if first else "",
            move_url=f"{reverse('week-of')}?move={pour.pk}{self.place.kept}#move" if movable else "",
        )

    def _clashes(self, clashes: Sequence[PourClash], zone: ZoneInfo) -> Iterator[CardClash]:
        for clash in clashes:
            when = self.words.from_to(clash.starts_at, clash.ends_at, zone)
            said = f"{when}: {clash_needs(clash)}{' (accepted)' if clash.accepted else ''}"
            cures = f"{reverse('week-cures')}?{urlencode({'clash': clash.key})}{self.place.kept}"
            yield CardClash(said, cures)

"""The starts each pour of a week may have, as the day planner says its work would then lie."""

from collections.abc import Iterable, Iterator, Mapping
from copy import copy
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from math import ceil
from zoneinfo import ZoneInfo

from scheduling import bridge
from scheduling.engine.dayplan import PourPlan
from scheduling.engine.dayplan import plan_pour as ask_engine
from scheduling.engine.inputs import BadInput, Phase, PhaseKind, PourRequest, Section
from scheduling.engine.learning import Learned
from scheduling.engine.startcosts import Surroundings, cost_h, dangers_of
from scheduling.engine.weekbook import WeekBook, Work
from scheduling.engine.weekconflicts import find_conflicts
from scheduling.engine.weekproblem import SLOT_MIN, WORKED, Lack, Option, Shortage
from scheduling.models import Company, PlanPhase, Pour
from scheduling.queries.forecasts import age_h, forecast_for
from scheduling.queries.holidays import day_fee
from scheduling.queries.week import week_span
from scheduling.queries.weekhours import must_be_asked, plant_open_on
from scheduling.queries.weekrows import AROUND
from scheduling.queries.weekrules import rules_for, work_of
from scheduling.services import rates
from scheduling.services.ordering import order_by

# Hours by the site's clock at which a pour is tried on each day, beside the one it stands at: our choice.
CLOCKS = (time(6), time(8), time(10), time(13))
DAYS_OF_A_TRY = 50  # our choice: starts are told apart by the sky and the clock more than by the last truck
COST_OF_AN_HOUR = 10  # a week's costs are in tenths of a crew-hour
SLOT = timedelta(minutes=SLOT_MIN)
DAY = timedelta(days=1)
BARRING = (Lack.PLANT_SHUT, Lack.PERMIT, Lack.LOUD, Lack.ROAD)
BROKEN = 1_000  # what a start or a crew that breaks a rule costs more, where it stands: our choice


@dataclass(frozen=True)
class Start:
    """One start of a pour with what it costs in crew-hours, danger by danger, and the rules it breaks.

    One that breaks a rule is offered only where the pour stands there already.
    """

    starts_at: datetime
    option: Option
    people: Mapping[PhaseKind, int]
    costs_h: Mapping[str, float]
    broken: tuple[Shortage, ...] = ()


@dataclass(frozen=True)
class Asking:
    """A week's frame: its first moment in slots, its days, and what is settled for the company."""

    first_at: datetime
    monday: date
    days: tuple[date, ...]
    company: Company
    now: datetime


def frame_of(monday: date, now: datetime) -> Asking:
    """The frame of the week of that Monday."""
    company = Company.objects.get()
    start, _ = week_span(monday, ZoneInfo(company.time_zone))
    return Asking(start - AROUND, monday, tuple(monday + timedelta(days=n) for n in range(7)), company, now)


def moments_of(pour: Pour, asking: Asking) -> list[datetime]:
    """When a pour is tried: a few clock times on each day its plant is open, and where it stands."""
    zone = ZoneInfo(pour.job.site.time_zone)
    own = pour.starts_at.astimezone(zone)
    clocks = sorted({*CLOCKS, own.time().replace(tzinfo=None)})
    found = {pour.starts_at.astimezone(UTC)}
    for day in asking.days:
        if _shut(pour, asking, day) is None:
            found |= {datetime.combine(day, clock, zone).astimezone(UTC) for clock in clocks}
    return sorted(moment for moment in found if moment > asking.now)


def _shut(pour: Pour, asking: Asking, day: date) -> Lack | None:
    """Why a plant is not asked for a day: shut, perhaps shut, or past its time to call."""
    if not plant_open_on(pour.plant, asking.company, day):
        return Lack.PLANT_SHUT
    if must_be_asked(pour.plant, asking.company, day):
        return Lack.PLANT_UNASKED
    return None if takes_orders_for(pour, day, asking.now) else Lack.NO_ORDER


def takes_orders_for(pour: Pour, day: date, now: datetime) -> bool:
    """Whether there is still time to call the plant for a day; for the day it is called for there is."""
    zone = ZoneInfo(pour.plant.time_zone)
    on_that_day = pour.starts_at.astimezone(zone).date() == day
    return on_that_day or order_by(pour.plant, datetime.combine(day, time(12), zone)) > now


def barred_of(pour: Pour, starts: Iterable[Start], asking: Asking) -> tuple[Shortage, ...]:
    """Why starts are not offered: the days its plant is shut, and the rules that each would break."""
    today = asking.now.astimezone(ZoneInfo(pour.job.site.time_zone)).date()
    shut = (
        Shortage(str(pour.pk), (day - asking.monday).days, lack, pour.plant.name)
        for day in asking.days
        if day >= today and (lack := _shut(pour, asking, day))
    )
    return (*shut, *(one for start in starts if not is_offered(start, pour) for one in start.broken))


def is_offered(start: Start, pour: Pour) -> bool:
    return not start.broken or start.starts_at == pour.starts_at


def starts_of(pour: Pour, asking: Asking) -> list[Start]:
    """Plan a pour at each of its moments, in that day's forecast."""
    sections, learned = bridge.kept_sections(pour), rates.learned_for(pour, asking.now)
    rules = rules_for(pour, asking.first_at, asking.first_at + (len(asking.days) + 4) * DAY)
    found = (_start(pour, moment, sections, learned, asking, rules) for moment in moments_of(pour, asking))
    return [start for start in found if start is not None]


def _start(
    pour: Pour,
    moment: datetime,
    sections: tuple[Section, ...],
    learned: Learned | None,
    asking: Asking,
    rules: WeekBook,
) -> Start | None:
    forecast = forecast_for(pour.job.site, moment, asking.now)
    hours = bridge.forecast_hours(forecast.hours) if forecast else ()
    moved = _at(pour, moment)
    try:
        request = bridge.pour_request(
            moved,
            asking.company,
            sections,
            hours,
            (),
            age_h(forecast, asking.now) if forecast else None,
            learned,
        )
        plan = ask_engine(request, DAYS_OF_A_TRY)
    except BadInput:
        return None
    zone = ZoneInfo(pour.job.site.time_zone)
    costs_h = _costs_h(pour, request, plan, zone)
    day = moment.astimezone(ZoneInfo(pour.plant.time_zone)).date()
    fee = day_fee(pour.plant, asking.company, day, plan.quantity.order_m3)
    late = sum(order.change_fee(asking.now) for order in pour.orders.all()) if moment != pour.starts_at else 0
    for name, asked in (("day_fee", fee), ("change_fee", late)):
        if asked and asking.company.crew_per_h:
            costs_h[name] = round(asked / asking.company.crew_per_h, 2)
    option = option_of(plan.phases, asking, moment.astimezone(zone).date(), costs_h)
    broken = tuple(_broken(moved, option.day, planned_work(plan, moved), rules))
    if broken:
        option = replace(option, risk=option.risk + BROKEN)
    return Start(plan.starts_at, option, people_of(plan.phases), costs_h, broken)


def _broken(pour: Pour, day: int, work: tuple[Work, ...], rules: WeekBook) -> Iterator[Shortage]:
    """What a start would break by itself, whoever else is booked."""
    names = {f"plant {pour.plant_id}": pour.plant.name, f"site {pour.job.site_id}": pour.job.site.name}
    for one in find_conflicts(replace(rules, work=work)):
        if one.code in BARRING:
            needed, exist = round(one.needed, 1), round(one.available, 1)
            span = one.starts_at, one.ends_at
            yield Shortage(str(pour.pk), day, Lack(one.code), names[one.who], needed, exist, *span)


def planned_work(plan: PourPlan, pour: Pour, kinds: Iterable[str] = ()) -> tuple[Work, ...]:
    """The work of a plan that is not kept, with the machines of those kinds that it holds."""
    loads = {str(pour.pk): bridge.to_json(plan.delivery.loads)}
    phases = (
        PlanPhase(kind=one.kind.value, starts_at=one.starts_at, ends_at=one.ends_at, people=one.people)
        for one in plan.phases
    )
    return tuple(work_of(phase, pour, loads, kinds) for phase in phases)


def _at(pour: Pour, moment: datetime) -> Pour:
    """The pour as it would be asked for at another moment; not kept."""
    moved = copy(pour)
    moved.starts_at = moment
    return moved


def _costs_h(pour: Pour, request: PourRequest, plan: PourPlan, zone: ZoneInfo) -> dict[str, float]:
    loud = bridge.loud_windows(pour.job.site, request.starts_at.astimezone(zone).date())
    around = Surroundings(request, request.starts_at, request.starts_at, loud)
    dangers = dangers_of(request, plan, around)
    costs = {reason: cost_h(reason, danger) for reason, danger in dangers.items() if danger.amount > 0}
    costs["overtime"] = _overtime_h(request, [one for one in plan.phases if one.kind in WORKED])
    return {reason: round(hours, 2) for reason, hours in costs.items() if hours > 0}


def _overtime_h(request: PourRequest, phases: Iterable[Phase]) -> float:
    """What work after the paid hours costs, in hours of the crew that places."""
    costs, people = request.costs, request.placing.people
    if costs.overtime_from_at is None or not costs.crew_per_h:
        return 0.0
    from_at = costs.overtime_from_at
    late = (phase.people * (phase.ends_at - max(phase.starts_at, from_at)) for phase in phases)
    late_h = sum(max(0.0, lasts / timedelta(hours=1)) for lasts in late)
    return late_h / people * costs.overtime_per_h / costs.crew_per_h


def people_of(phases: Iterable[Phase]) -> dict[PhaseKind, int]:
    """How many people each kind of work keeps at most."""
    found: dict[PhaseKind, int] = {}
    for phase in phases:
        kind = PhaseKind(phase.kind)
        found[kind] = max(found.get(kind, 0), phase.people)
    return found


def option_of(phases: Iterable[Phase], asking: Asking, day: date, costs_h: Mapping[str, float]) -> Option:
    """A plan's work in slots: rounded outwards, so that it never lasts longer than the week thinks."""
    spans = dict(_spans(phases, asking.first_at))
    start, placed = spans[PhaseKind.PLACE]
    finish, finished = spans.get(PhaseKind.FINISH, (placed, placed + 1))
    finish = max(finish, placed)
    finished = max(finished, finish + 1)
    cut, cut_done = spans.get(PhaseKind.CUT, (finished, finished + 1))
    cut = max(cut, finished)
    cost = dict(costs_h)
    overtime = cost.pop("overtime", 0.0)
    return Option(
        day=(day - asking.monday).days,
        start=start,
        place=placed - start,
        finish_after=finish - start,
        finish=finished - finish,
        cut_after=cut - start,
        cut=max(1, cut_done - cut),
        risk=round(COST_OF_AN_HOUR * sum(cost.values())),
        overtime=round(COST_OF_AN_HOUR * overtime),
    )


def _spans(phases: Iterable[Phase], first_at: datetime) -> Iterator[tuple[PhaseKind, tuple[int, int]]]:
    by_kind: dict[PhaseKind, list[Phase]] = {}
    for phase in phases:
        by_kind.setdefault(PhaseKind(phase.kind), []).append(phase)
    for kind, ours in by_kind.items():
        begins = min(phase.starts_at for phase in ours) - first_at
        ends = max(phase.ends_at for phase in ours) - first_at
        yield kind, (begins // SLOT, max(begins // SLOT + 1, ceil(ends / SLOT)))


def kept_phases(pour: Pour) -> tuple[Phase, ...]:
    """The work of a pour's current plan as it is kept."""
    rows = pour.plan.phases.all() if pour.plan else ()
    return tuple(Phase(PhaseKind(row.kind), row.starts_at, row.ends_at, row.people) for row in rows)


def standing_start(pour: Pour, asking: Asking) -> Start:
    """Where a pour stands by its kept plan, at no cost: of one that is not moved."""
    phases = kept_phases(pour)
    zone = ZoneInfo(pour.job.site.time_zone)
    option = option_of(phases, asking, pour.starts_at.astimezone(zone).date(), {})
    return Start(pour.starts_at.astimezone(UTC), option, people_of(phases), {})


def one_a_slot(starts: Iterable[Start], stands_at: datetime) -> dict[int, Start]:
    """One start for each slot: of two in a quarter hour the one as it stands, or the cheaper."""
    best: dict[int, Start] = {}
    for start in sorted(starts, key=lambda one: (one.starts_at != stands_at, _cost(one))):
        best.setdefault(start.option.start, start)
    return best


def _cost(start: Start) -> int:
    return start.option.risk + start.option.overtime

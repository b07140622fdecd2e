"""What to tell the plant: the arrivals that cost least on the days that may come, in words it takes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from operator import itemgetter

import numpy as np

from scheduling.engine.arrivals import Question, asked_from, best_intervals
from scheduling.engine.chance import draw_days
from scheduling.engine.fleet import Fleet, fleet_for
from scheduling.engine.forecast import Floats
from scheduling.engine.inputs import (
    CUSTOMARY_LATENESS_MIN,
    BadInput,
    Costs,
    Fact,
    Finding,
    Place,
    Severity,
    Supply,
    Uncertainty,
    Window,
    require_aware,
    require_not_negative,
    require_positive,
)
from scheduling.engine.queueing import Paths, round_for
from scheduling.engine.risk import DeliveryRisk, any_chance, delivery_risk
from scheduling.engine.rounds import check_loads, unload_min, whole_minutes
from scheduling.engine.sayable import SIMPLE_LOSS, Sayable, Search, every
from scheduling.engine.spacing import spacing_for
from scheduling.engine.stakes import Stakes, cold_joints, dead_loads, stakes_for

MOST_LOADS = 300  # our choice: more is not one pour
MOST_DAYS = 100_000
ROUGH = 4  # our choice: the search begins on one day of so many
JUDGED_BY = 3  # our choice: so many times the days searched judge what was found
MOST_JUDGED = 300_000  # our choice: loads times days that judge
RISK_WORTH_SAYING = 0.1  # our choice: one day in ten
WORTH_A_WORD = 0.01  # our choice: what naming the first gap apart must save
CREW_WAIT_WORTH_SAYING_MIN = 15.0  # our choice
CREW_WAIT_WORTH_SAYING_SHARE = 0.3  # our choice, of the time from the first asked arrival to the end

OUR_CHOICE = "our choice"
OUR_COSTS = "costs of waiting and loss as entered, or our choice"
AGE_SOURCE = "ASTM C94/C94M-21"
LATENESS_SOURCE = "on time is within 15 min either side: a supplier's published price page"


@dataclass(frozen=True, slots=True, kw_only=True)
class BestSpacing:
    """The plan to say, and what it costs beside the best free one and plain "load divided by rate".

    Costs are the expected money lost to waiting, charges, dead loads, cold joints and overtime, all
    three told by the same days, which the search saw last or not at all. `loss_percent` is what
    the sayable plan costs more than the free one, `saved_percent` what it costs less than the plain
    one, each in hundredths of the other's cost. `fragile` says that a dead load or a cold joint was not too
    likely, but is when trucks are merely on time (within 15 min either side). `fleet` is for a supply
    without limit on trucks; `risk` holds for the trucks there are.
    """

    sayable: Sayable
    sayable_cost: float
    asked_min: tuple[float, ...]
    free_intervals_min: tuple[float, ...]
    free_cost: float
    plain_interval_min: int
    plain_cost: float
    loss_percent: float
    saved_percent: float
    fragile: bool
    risk: DeliveryRisk
    fleet: Fleet
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Pour:
    """One pour as asked: everything that the days are drawn from and judged by."""

    loads_m3: tuple[float, ...]
    rate_m3_h: float
    supply: Supply
    place: Place
    uncertainty: Uncertainty
    costs: Costs
    cold_joint_min: float
    starts_at: datetime
    plant_busy: tuple[Window, ...]

    def question(self, days: int, seed: int, luck: Uncertainty) -> Question:
        supply, changeover_min = self.supply, luck.changeover_min
        return Question(
            round_for(self.loads_m3, supply, self.place, changeover_min, self.starts_at, self.plant_busy),
            draw_days(self.loads_m3, self.rate_m3_h, supply.haul_min, luck, days, seed),
            stakes_for(self.loads_m3, self.costs, supply.age_limit_min, self.cold_joint_min, self.starts_at),
        )

    @property
    def few_trucks(self) -> bool:
        """Whether some truck must come twice."""
        return self.supply.trucks is not None and self.supply.trucks < len(self.loads_m3)


def best_spacing(
    loads_m3: Sequence[float],
    rate_m3_h: float,
    supply: Supply,
    place: Place,
    uncertainty: Uncertainty,
    costs: Costs,
    cold_joint_min: float,
    starts_at: datetime,
    plant_busy: Sequence[Window] = (),
    days: int = 2000,
    seed: int = 1,
) -> BestSpacing:
    """Find the arrivals to ask for, and what they may come to.

    Parameters
    ----------
    loads_m3 : sequence of float
        Volumes in order of delivery, at most 300.
    rate_m3_h : float
        How fast the crew empties a truck on average.
    supply : Supply
    place : Place
    uncertainty : Uncertainty
    costs : Costs
    cold_joint_min : float
        Longest time between two discharges that leaves no cold joint.
    starts_at : datetime
        When the crew is ready and the first truck is asked for.
    plant_busy : sequence of Window
        When the plant loads other pours of ours, see `queueing.plant_windows`; those go first.
    days : int
        How many days to draw for the search; up to three times as many others decide the last minutes and
        tell the costs.
    seed : int
        The same question with the same seed has the same answer.

    Returns
    -------
    BestSpacing

    Raises
    ------
    BadInput
        No loads or over 300, anything that must be positive and is not, a moment without zone,
        a seed below 0.
    """
    _check(loads_m3, rate_m3_h, cold_joint_min, starts_at, days, seed)
    pour = _Pour(
        loads_m3=tuple(loads_m3),
        rate_m3_h=rate_m3_h,
        supply=supply,
        place=place,
        uncertainty=uncertainty,
        costs=costs,
        cold_joint_min=cold_joint_min,
        starts_at=starts_at,
        plant_busy=tuple(plant_busy),
    )
    question = pour.question(days, 2 * seed, uncertainty)
    judge = pour.question(_days_to_judge(len(loads_m3), days), 2 * seed + 1, uncertainty)
    sayable, free_min = _plans(pour, question, judge)
    asked_min = sayable.asked_min(len(loads_m3))
    risk = delivery_risk(judge.paths(asked_min), judge.draws, judge.stakes)
    on_time = pour.question(days, 2 * seed, uncertainty.with_customary_lateness())
    broken = _broken(on_time.paths(asked_min), on_time.stakes, risk)
    fleet = _fleet(pour, sayable, question)
    return _answer(pour, judge, sayable, free_min, risk, broken, fleet)


def _check(
    loads_m3: Sequence[float],
    rate_m3_h: float,
    cold_joint_min: float,
    starts_at: datetime,
    days: int,
    seed: int,
) -> None:
    check_loads(loads_m3, rate_m3_h)
    if len(loads_m3) > MOST_LOADS:
        message = f"A pour has at most {MOST_LOADS} loads, not {len(loads_m3)}: split it into several."
        raise BadInput("loads_m3", "too_many_loads", message)
    require_positive("cold_joint_min", cold_joint_min)
    require_aware("starts_at", starts_at)
    require_positive("days", days, upper=MOST_DAYS)
    require_not_negative("seed", seed)


def _days_to_judge(loads: int, days: int) -> int:
    """Rare things make a plan dear, so two plans are told apart only by many days, or many loads in each."""
    return max(days, min(JUDGED_BY * days, MOST_JUDGED // loads))


# --- the search -------------------------------------------------------------------------------


def _search(pour: _Pour, question: Question, judge: Question) -> Search:
    together = 1 if pour.place.one_truck_at_a_time else question.turn.trucks or len(pour.loads_m3)
    supply = replace(pour.supply, trucks=question.turn.trucks)
    near = spacing_for(pour.loads_m3, pour.rate_m3_h, supply, pour.place).exact_min
    rough = question.share(ROUGH)
    return Search(len(pour.loads_m3), rough.cost, question.cost, judge.cost, together, near)


def _plans(pour: _Pour, question: Question, judge: Question) -> tuple[Sayable, Floats]:
    """The best sayable and the best free plan; the free one is never the dearer."""
    loads = len(pour.loads_m3)
    if loads == 1:
        return Sayable(1, 0, 0), np.zeros(0)
    search = _search(pour, question, judge)
    sayable = search.simple()
    free_cost, free_min = _free(question, judge, sayable)
    if loads > 2 and search.cost(sayable) > free_cost * (1 + SIMPLE_LOSS):
        wider = search.with_first_gap(sayable, free_min)
        if search.cost(wider) < search.cost(sayable) * (1 - WORTH_A_WORD):
            sayable = wider
            again = _free(question, judge, wider)
            free_cost, free_min = min((free_cost, free_min), again, key=itemgetter(0))
    return sayable, free_min if free_cost < search.cost(sayable) else sayable.intervals_min(loads)


def _free(question: Question, judge: Question, start: Sayable) -> tuple[float, Floats]:
    free_min = best_intervals(question, start.intervals_min(question.loads))
    return judge.cost(asked_from(free_min)), free_min


def _fleet(pour: _Pour, sayable: Sayable, question: Question) -> Fleet:
    """With few trucks the plan is stretched to them, so what more would do is told by another plan."""
    loads = len(pour.loads_m3)
    if pour.few_trucks:
        unlimited = Question(replace(question.turn, trucks=None), question.draws, question.stakes)
        sayable = _search(pour, unlimited, unlimited).simple()
    return fleet_for(sayable.asked_min(loads), question.turn, question.draws)


def _broken(on_time: Paths, stakes: Stakes, risk: DeliveryRisk) -> dict[str, Fact]:
    """Chances that were worth no word, and are when trucks are anywhere within what counts as on time."""
    shaken = {
        "dead_chance": (risk.any_dead_chance, any_chance(dead_loads(on_time, stakes.age_limit_min))),
        "cold_joint_chance": (
            risk.cold_joint_chance,
            any_chance(cold_joints(on_time, stakes.cold_joint_min)),
        ),
    }
    return {name: then for name, (now, then) in shaken.items() if now <= RISK_WORTH_SAYING < then}


# --- what it comes to -------------------------------------------------------------------------


def _answer(
    pour: _Pour,
    judge: Question,
    sayable: Sayable,
    free_min: Floats,
    risk: DeliveryRisk,
    broken: dict[str, Fact],
    fleet: Fleet,
) -> BestSpacing:
    loads = len(pour.loads_m3)
    plain_min = whole_minutes(unload_min(max(pour.loads_m3), pour.rate_m3_h))
    plain_cost = judge.cost(every(plain_min).asked_min(loads))
    free_cost = judge.cost(asked_from(free_min))
    return BestSpacing(
        sayable=sayable,
        sayable_cost=risk.cost,
        asked_min=tuple(sayable.asked_min(loads).tolist()),
        free_intervals_min=tuple(free_min.tolist()),
        free_cost=free_cost,
        plain_interval_min=plain_min,
        plain_cost=plain_cost,
        loss_percent=_percent(risk.cost - free_cost, free_cost),
        saved_percent=_percent(plain_cost - risk.cost, plain_cost),
        fragile=bool(broken),
        risk=risk,
        fleet=fleet,
        findings=(
            *_weighed(pour, judge, sayable, risk),
            *_crew_stands(risk),
            *_risky(pour, risk),
            *_fragile(sayable, broken),
            *_short_of_trucks(pour, risk, fleet),
        ),
    )


def _percent(difference: float, of: float) -> float:
    return 100 * difference / of if of > 0 else 0.0


def _weighed(pour: _Pour, judge: Question, sayable: Sayable, risk: DeliveryRisk) -> Iterator[Finding]:
    """What is gained over loads that follow each other as fast as crew, plant, site and trucks can."""
    loads = len(pour.loads_m3)
    quickest = every(spacing_for(pour.loads_m3, pour.rate_m3_h, pour.supply, pour.place).interval_min)
    if loads == 1 or sayable == quickest:
        return
    asked_min = quickest.asked_min(loads)
    quick = delivery_risk(judge.paths(asked_min), judge.draws, judge.stakes)
    facts: dict[str, Fact] = {
        "quickest_interval_min": quickest.interval_min,
        "truck_wait_min": risk.truck_wait_mean_min,
        "quick_truck_wait_min": quick.truck_wait_mean_min,
        "crew_wait_min": risk.crew_wait_mean_min,
        "quick_crew_wait_min": quick.crew_wait_mean_min,
        "dead_chance": risk.any_dead_chance,
        "quick_dead_chance": quick.any_dead_chance,
    }
    yield Finding(Severity.NOTE, "arrivals_weighed", facts, OUR_COSTS)


def _crew_stands(risk: DeliveryRisk) -> Iterator[Finding]:
    wait_min, run_min = risk.crew_wait_mean_min, risk.finish_mean_min
    if wait_min > max(CREW_WAIT_WORTH_SAYING_MIN, CREW_WAIT_WORTH_SAYING_SHARE * run_min):
        facts: dict[str, Fact] = {"crew_wait_min": wait_min, "run_min": run_min}
        yield Finding(Severity.CAUTION, "crew_waits", facts, OUR_CHOICE)


def _risky(pour: _Pour, risk: DeliveryRisk) -> Iterator[Finding]:
    if risk.any_dead_chance > RISK_WORTH_SAYING:
        worst = max(risk.loads, key=lambda load: load.dead_chance)
        dead: dict[str, Fact] = {
            "chance": risk.any_dead_chance,
            "load": worst.number,
            "age_mean_min": worst.age_mean_min,
            "age_p90_min": worst.age_p90_min,
            "age_limit_min": pour.supply.age_limit_min,
        }
        yield Finding(Severity.CAUTION, "load_may_die", dead, AGE_SOURCE)
    if risk.cold_joint_chance > RISK_WORTH_SAYING:
        cold: dict[str, Fact] = {
            "chance": risk.cold_joint_chance,
            "gap_p90_min": risk.gap_p90_min,
            "cold_joint_min": pour.cold_joint_min,
        }
        yield Finding(Severity.CAUTION, "cold_joint_risk", cold, OUR_CHOICE)


def _fragile(sayable: Sayable, broken: dict[str, Fact]) -> Iterator[Finding]:
    if broken:
        facts = {
            "lateness_min": CUSTOMARY_LATENESS_MIN,
            "interval_min": sayable.interval_min,
            **broken,
        }
        yield Finding(Severity.CAUTION, "fragile_spacing", facts, LATENESS_SOURCE)


def _short_of_trucks(pour: _Pour, risk: DeliveryRisk, fleet: Fleet) -> Iterator[Finding]:
    trucks = pour.supply.trucks
    if trucks is not None and trucks < fleet.enough:
        facts: dict[str, Fact] = {
            "trucks": trucks,
            "trucks_enough": fleet.enough,
            "crew_wait_min": risk.crew_wait_mean_min,
            "crew_wait_with_enough_min": fleet.crew_wait_min[-1],
        }
        yield Finding(Severity.NOTE, "more_trucks_help", facts, OUR_CHOICE)

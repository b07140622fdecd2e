"""A week to be planned: pours with the starts they may have, and what there is to do them with.

Time is counted in slots of a quarter hour from one moment, so that every length and every start is a
whole number. Costs are whole numbers too, in whatever unit the asker weighs them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from enum import StrEnum

from scheduling.engine.inputs import BadInput, PhaseKind, require_aware, require_not_negative

SLOT_MIN = 15
WORKED = (PhaseKind.PLACE, PhaseKind.FINISH, PhaseKind.CUT)


@dataclass(frozen=True, slots=True)
class Option:
    """One start that a pour may have, and how the day planner says its work would then lie.

    Everything is in slots: `start` from the week's first moment, the `…_after` from `start`. The cut
    may begin up to `cut_slack` later than it opens. `risk` and `overtime` are what this start costs.
    """

    day: int
    start: int
    place: int
    finish_after: int
    finish: int
    cut_after: int
    cut: int
    cut_slack: int = 0
    risk: int = 0
    overtime: int = 0

    def __post_init__(self) -> None:
        for name in ("start", "cut_slack", "risk", "overtime"):
            require_not_negative(name, getattr(self, name))
        if min(self.place, self.finish, self.cut) < 1:
            raise BadInput("place", "empty_window", "Each phase of an option must last at least a slot.")
        if self.finish_after < self.place or self.cut_after < self.finish_after + self.finish:
            raise BadInput("finish_after", "out_of_order", "A slab is placed, then finished, then cut.")

    def stretch(self, phase: PhaseKind, cut_at: int | None = None) -> tuple[int, int]:
        """First slot of a phase and the slot after its last; `cut_at` None cuts as soon as it opens."""
        if phase is PhaseKind.PLACE:
            return self.start, self.start + self.place
        if phase is PhaseKind.FINISH:
            return self.start + self.finish_after, self.start + self.finish_after + self.finish
        opens = self.start + self.cut_after if cut_at is None else cut_at
        return opens, opens + self.cut


@dataclass(frozen=True, slots=True)
class Need:
    """So many units of a kind of equipment, or finishing parties, all through one phase."""

    pool: str
    phase: PhaseKind
    count: int = 1


@dataclass(frozen=True, slots=True)
class Standing:
    """Where a pour stands in the week as it is."""

    start: int
    crew: str
    plant: str


class Lack(StrEnum):
    """What keeps a pour off a day; from `plant_unasked` on, why the asker does not offer a start."""

    NO_START = "no_start"  # nothing was offered, and nobody said why
    PEOPLE = "people"
    PEOPLE_AWAY = "people_away"
    UNITS = "units"
    PLANT = "plant"
    PLANT_SHUT = "plant_shut"
    CREW_ELSEWHERE = "crew_elsewhere"
    PROMISE = "promise"  # days later than was promised
    DEAR = "dear"  # it fits, and costs more than to leave it out
    PLANT_UNASKED = "plant_unasked"
    NO_ORDER = "order_not_called"  # the plant takes no more orders for that day
    LOST = "lost"  # the day or the site
    PERMIT = "outside_permit"  # hours of work, and how many of them are allowed
    LOUD = "outside_loud_hours"
    ROAD = "road_season"  # m³ of a load
    SKILL = "skill_missing"  # crews, and how many of them can


@dataclass(frozen=True, slots=True)
class Shortage:
    """What keeps a pour off a day: `needed` of `name` from one moment to another, and `exist`.

    `pours` are those that have it then. The moments are None where it is for all day.
    """

    pour: str
    day: int
    lack: Lack
    name: str
    needed: float = 0
    exist: float = 0
    starts_at: datetime | None = None
    ends_at: datetime | None = None
    pours: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekPour:
    """One pour of the week.

    `crews` and `plants` are those that may serve it, each with what its way there costs. `people` is
    how many of the placing crew each phase keeps; `rate` what the plant must batch while it is placed,
    in whole m³/h. A day after `wanted_day` is late; none after `latest_day` will do. A `pinned` pour
    stays where it stands. `barred` is why starts are not among the options that might have been.
    """

    name: str
    site: str
    options: tuple[Option, ...]
    crews: Mapping[str, int]
    plants: Mapping[str, int]
    people: Mapping[PhaseKind, int]
    needs: tuple[Need, ...] = ()
    rate: int = 0
    wanted_day: int | None = None
    latest_day: int | None = None
    standing: Standing | None = None
    pinned: bool = False
    barred: tuple[Shortage, ...] = ()

    def __post_init__(self) -> None:
        if self.pinned and not self._stands():
            raise BadInput("pinned", "nowhere_pinned", f"{self.name} is pinned where it cannot be.")
        if len({need.pool for need in self.needs}) < len(self.needs):
            raise BadInput("needs", "pool_twice", f"{self.name} asks twice for one pool.")
        if not self.crews or not self.plants:
            raise BadInput("crews", "nobody", f"{self.name} needs a crew and a plant that may serve it.")

    def _stands(self) -> bool:
        at = self.standing
        known = at is not None and at.crew in self.crews and at.plant in self.plants
        return known and at is not None and any(one.start == at.start for one in self.options)


@dataclass(frozen=True, slots=True)
class WeekCrew:
    """A crew and how many people it has; it places one slab at a time.

    `away` is (from, until, how many) in slots: people on leave.
    """

    name: str
    people: int
    away: tuple[tuple[int, int, int], ...] = ()


@dataclass(frozen=True, slots=True)
class Pool:
    """Alike units, any of which will do; each needs `move` slots after its use before its next."""

    name: str
    units: tuple[str, ...]
    move: int = 0


@dataclass(frozen=True, slots=True)
class WeekPlant:
    """A plant: whole m³/h it can batch, and when it is open, as half-open pairs of slots."""

    name: str
    rate: int
    opens: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class Weights:
    """What a broken wish costs, in the unit of the options' costs: our choice."""

    late_day: int = 200
    moved_day: int = 40
    moved_start: int = 10
    other_crew: int = 25
    left_out: int = 5_000


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekProblem:
    """All of it. `legs` is how many slots the way between two sites takes, either way round."""

    first_at: datetime
    pours: tuple[WeekPour, ...]
    crews: tuple[WeekCrew, ...]
    pools: tuple[Pool, ...] = ()
    plants: tuple[WeekPlant, ...]
    legs: Mapping[tuple[str, str], int] = field(default_factory=dict)
    weights: Weights = field(default_factory=Weights)

    def __post_init__(self) -> None:
        require_aware("first_at", self.first_at)
        known = {
            "crews": {crew.name for crew in self.crews},
            "plants": {plant.name for plant in self.plants},
            "needs": {pool.name for pool in self.pools},
        }
        for pour in self.pours:
            asked = {"crews": pour.crews, "plants": pour.plants, "needs": [n.pool for n in pour.needs]}
            for name, wanted in asked.items():
                if missing := sorted(set(wanted) - known[name]):
                    raise BadInput(name, "unknown", f"{pour.name} asks for {missing[0]}, which is not there.")

    def leg(self, here: str, there: str) -> int:
        """Slots between two sites: 0 at one site, and where nobody knows."""
        if here == there:
            return 0
        return self.legs.get((here, there), self.legs.get((there, here), 0))

    def at(self, slot: int) -> datetime:
        return self.first_at + timedelta(minutes=SLOT_MIN * slot)


@dataclass(frozen=True, slots=True)
class Placed:
    """Where a pour goes: its option, who places it, who batches it, and when it is cut."""

    pour: str
    option: Option
    crew: str
    plant: str
    cut_at: int


def cost_of_option(problem: WeekProblem, pour: WeekPour, option: Option) -> int:
    """What a start costs: its risk, its overtime, the days it is late, and that it is not as it stands."""
    weights = problem.weights
    late = 0 if pour.wanted_day is None else max(0, option.day - pour.wanted_day)
    return option.risk + option.overtime + weights.late_day * late + _change(weights, pour, option)


def _change(weights: Weights, pour: WeekPour, option: Option) -> int:
    if pour.standing is None or option.start == pour.standing.start:
        return 0
    stood = next((one.day for one in pour.options if one.start == pour.standing.start), None)
    return weights.moved_start if option.day == stood else weights.moved_day


def cost_of_crew(problem: WeekProblem, pour: WeekPour, crew: str) -> int:
    """What a crew costs on a pour: its way there, and that it is another one than stands."""
    other = pour.standing is not None and pour.standing.crew != crew
    return pour.crews[crew] + (problem.weights.other_crew if other else 0)


def cost_of_placed(problem: WeekProblem, pour: WeekPour, placed: Placed) -> int:
    """What a pour costs where it is put."""
    crew = cost_of_crew(problem, pour, placed.crew)
    return cost_of_option(problem, pour, placed.option) + crew + pour.plants[placed.plant]


def cost_of_week(problem: WeekProblem, week: Mapping[str, Placed]) -> int:
    """What a week costs altogether; a pour that is not in it costs the most."""
    return sum(
        cost_of_placed(problem, pour, week[pour.name]) if pour.name in week else problem.weights.left_out
        for pour in problem.pours
    )

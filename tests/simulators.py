"""The trucks of a pour told to two general simulators, SimPy and Ciw, which know nothing of our engine."""

import random
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import ciw
import simpy

# --- SimPy: one day, with the luck given --------------------------------------------------------


@dataclass
class Day:
    """What SimPy is told of one day, in minutes; the crew is ready at 0."""

    asked: Sequence[float]
    lead: float
    back: float
    changeover: float
    plant: Sequence[float]
    late: Sequence[float]
    unload: Sequence[float]
    overtakes: Sequence[bool] | None = None
    trucks: int | None = None
    busy: Sequence[tuple[float, float]] = ()


@dataclass
class Happened:
    """By load as sent."""

    batch: list[float]
    arrive: list[float]
    start: list[float]
    end: list[float]


@dataclass
class SiteAndPlant:
    """One environment with the plant's yard, the road in the order trucks were sent, and the site."""

    day: Day
    happened: Happened = field(init=False)

    def __post_init__(self) -> None:
        loads = len(self.day.asked)
        self.env = simpy.Environment(initial_time=min(self.day.asked) - self.day.lead)
        self.yard = simpy.Container(self.env, init=self.day.trucks or loads)
        self.site = simpy.Resource(self.env, capacity=1)
        self.here = [self.env.event() for _ in self.day.asked]
        self.happened = Happened(*([0.0] * loads for _ in range(4)))
        self.env.process(self.set_up())
        self.env.process(self.dispatch())

    def until(self, moment):
        return self.env.timeout(max(0.0, moment - self.env.now))

    def set_up(self):
        with self.site.request() as turn:
            yield turn
            yield self.until(0.0)

    def dispatch(self):
        for load, asked in enumerate(self.day.asked):
            yield self.until(asked - self.day.lead)
            yield self.yard.get(1)
            takes = self.day.plant[load]
            for opens, closes in sorted(self.day.busy):
                if opens - takes < self.env.now < closes:
                    yield self.until(closes)
            self.env.process(self.truck(load))
            yield self.env.timeout(takes)

    def truck(self, load):
        env, day, happened = self.env, self.day, self.happened
        happened.batch[load] = env.now
        yield env.timeout(day.lead + day.late[load])
        if load and not (day.overtakes is not None and day.overtakes[load]):
            yield self.here[load - 1]
        happened.arrive[load] = env.now
        self.here[load].succeed()
        turn = self.site.request()
        yield turn
        happened.start[load] = env.now
        yield env.timeout(day.unload[load])
        happened.end[load] = env.now
        env.process(self.change_over(turn))
        yield env.timeout(day.back)
        yield self.yard.put(1)

    def change_over(self, turn):
        yield self.env.timeout(self.day.changeover)
        self.site.release(turn)


def simpy_day(day: Day) -> Happened:
    world = SiteAndPlant(day)
    world.env.run()
    return world.happened


def days_of(asked, turn, draws, count=None):
    """Days for SimPy from the engine's own inputs: the same luck, told in another tongue."""
    for number in range(draws.days if count is None else count):
        yield Day(
            asked=asked,
            lead=turn.lead_min,
            back=turn.back_min,
            changeover=turn.changeover_min,
            plant=turn.plant_min,
            late=draws.late_min[:, number].tolist(),
            unload=draws.unload_min[:, number].tolist(),
            overtakes=None if draws.overtakes is None else draws.overtakes[:, number].tolist(),
            trucks=turn.trucks,
            busy=turn.plant_busy,
        )


# --- Ciw: many days, with luck of its own -------------------------------------------------------


class CutNormal(ciw.dists.Distribution):
    """A normal drawn again until it falls between two bounds."""

    def __init__(self, middle, spread, low, high):
        self.middle, self.spread, self.low, self.high = middle, spread, low, high

    def sample(self, t=None, ind=None):
        while True:
            value = random.gauss(self.middle, self.spread)
            if self.low <= value <= self.high:
                return value


def ciw_waits(asked, road, unload, days, seed):
    """Each day's waits at the site, in order of arrival, of trucks that drive a road freely and queue.

    `road` and `unload` are Ciw distributions; the trucks set out when asked.
    """
    gaps = [asked[0], *(later - sooner for sooner, later in pairwise(asked))]
    network = ciw.create_network(
        arrival_distributions=[ciw.dists.Sequential([*gaps, 1e9]), None],
        service_distributions=[road, unload],
        number_of_servers=[float("inf"), 1],
        routing=[[0.0, 1.0], [0.0, 0.0]],
    )
    all_waits = []
    for day in range(days):
        ciw.seed(seed + day)
        simulation = ciw.Simulation(network)
        simulation.simulate_until_max_customers(len(asked), method="Finish")
        at_site = [record for record in simulation.get_all_records() if record.node == 2]
        at_site.sort(key=lambda record: record.arrival_date)
        all_waits.append([record.waiting_time for record in at_site])
    return all_waits

"""The day of a pour in a terminal: a column for each hour, a line for each thing that runs through it."""

from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from scheduling.engine.dayplan import PourPlan
from scheduling.quantities import Dimension, UnitSystem, to_unit

HOUR = timedelta(hours=1)
MOST_HOURS = 22  # of four letters each beside the names: the width of a terminal
WORK = {"power_float": "F", "float": "F", "trowel": "T", "broom": "B"}


def day_lines(plan: PourPlan, zone: ZoneInfo, units: UnitSystem) -> Iterator[str]:
    """The lines; drying at or over its limit is marked with ``!``, an hour of night with ``*``."""
    hours = [hour.at for hour in plan.sky.hours[:MOST_HOURS]]
    sky = {hour.at: hour for hour in plan.sky.hours}
    slab = {hour.at.replace(minute=0, second=0, microsecond=0): hour for hour in plan.weather}

    def line(name: str, cell: Callable[[datetime], str]) -> str:
        return f"{name:<9}{''.join(f'{cell(at):>4}' for at in hours)}".rstrip()

    def told(value: float | None, dimension: Dimension) -> str:
        return "" if value is None else f"{to_unit(value, dimension, units)['value']:.0f}"

    def drying(at: datetime) -> str:
        rate = slab[at].rate_kg_m2_h if at in slab else None
        if rate is None:
            return ""
        number = f"{to_unit(rate, Dimension.EVAPORATION, units)['value']:.2f}".lstrip("0")
        return number + ("!" if rate >= plan.sky.drying_limit_kg_m2_h else "")

    def rain(at: datetime) -> str:
        chance = sky[at].rain_chance
        return "" if chance is None else f"{100 * chance:.0f}"

    yield line("Hour", lambda at: f"{at.astimezone(zone):%H}{'*' if _is_night(plan, at) else ''}")
    yield line("Air", lambda at: told(sky[at].air_c, Dimension.TEMPERATURE))
    yield line("Slab", lambda at: told(slab[at].concrete_c if at in slab else None, Dimension.TEMPERATURE))
    yield line("Drying", drying)
    yield line("Rain %", rain)
    yield line("Trucks", lambda at: _trucks(plan, at))
    yield line("Work", lambda at: _work(plan, at))
    yield "         P place, F float, T trowel, B broom, C cut; * night; ! dries too fast"


def _is_night(plan: PourPlan, at: datetime) -> bool:
    middle = at + HOUR / 2
    return any(night.opens_at <= middle < night.closes_at for night in plan.sky.nights)


def _trucks(plan: PourPlan, at: datetime) -> str:
    arriving = [load.number for load in plan.delivery.loads if at <= load.arrives_at < at + HOUR]
    if not arriving:
        return ""
    return str(arriving[0]) if len(arriving) == 1 else f"{arriving[0]}-{arriving[-1]}"


def _work(plan: PourPlan, at: datetime) -> str:
    spans = [("P", plan.starts_at, plan.placed_at)]
    spans += [(WORK.get(one.kind, "F"), one.opens_at, one.closes_at) for one in plan.finishing.passes]
    if plan.sawing.starts_at:
        spans.append(("C", plan.sawing.opens_at, plan.sawing.last_call_at))
    return "".join(dict.fromkeys(letter for letter, start, end in spans if start < at + HOUR and end > at))

"""A plan in a nutshell: what to tell the plant, and the times everybody asks for."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby
from typing import Any
from zoneinfo import ZoneInfo

from scheduling.models import Pour
from scheduling.pages.clashes import site_zone
from scheduling.pages.clock import day_words, lasting, long_day, same_clock
from scheduling.pages.wording import Words, about
from scheduling.sentences.arrivals import Arrivals

Json = Mapping[str, Any]

# The finding that tells why the trucks are asked for as they are.
WHY_SO = "arrivals_weighed"


@dataclass(frozen=True)
class KeyTime:
    label: str
    value: str
    note: str = ""


def moment(said: str) -> datetime:
    """A moment out of a plan kept as JSON."""
    return datetime.fromisoformat(said)


def say_to_plant(pour: Pour, result: Json, words: Words) -> str:
    """What to read to the plant over the phone, on the plant's own clock."""
    zone, plant_zone = site_zone(pour), ZoneInfo(pour.plant.time_zone)
    first_at = moment(result["starts_at"])
    at = words.clock(first_at, plant_zone)
    if not same_clock(zone, plant_zone, first_at):
        at += f" your time ({first_at.astimezone(plant_zone):%Z}; {words.clock(first_at, zone)} here)"
    day = long_day(first_at.astimezone(plant_zone).date(), words.units)
    order, loads = words.ordered(result["quantity"]["order_m3"]), result["quantity"]["loads_m3"]
    said = [
        f"{day}: {order} of {pour.mix.code} to {pour.job.site.address}.",
        f"On site: {arrivals(result).spoken(at)}.",
        f"{loads_words(loads, words)}.",
    ]
    if any(finding["code"] == "hold_last_load" for finding in result["findings"]):
        said.append("Hold the last load until we call with what is left.")
    return " ".join(said)


def arrivals(result: Json) -> Arrivals:
    """How the trucks of a plan are asked for; one from before arrivals were weighed has them evenly."""
    loads = len(result["quantity"]["loads_m3"])
    if "arrivals" in result:
        return Arrivals(loads=loads, **result["arrivals"]["sayable"])
    interval_min = result["spacing"]["interval_min"]
    return Arrivals(loads=loads, next_after_min=interval_min, interval_min=interval_min)


def why_so(result: Json, zone: ZoneInfo, words: Words) -> str:
    """Why the trucks are asked for as they are: what is gained, or what to expect; nothing for one truck."""
    told = next((f for f in result["findings"] if f["code"] == WHY_SO), None)
    if told:
        return words.finding(told, zone)
    if "arrivals" not in result or len(result["quantity"]["loads_m3"]) == 1:
        return ""
    risk = result["arrivals"]["risk"]
    truck, crew = (minutes_words(risk[name]) for name in ("truck_wait_mean_min", "crew_wait_mean_min"))
    return f"Asked so, expect a truck to wait {truck} and the crew {crew} in all."


def minutes_words(minutes: float) -> str:
    return lasting(timedelta(minutes=round(minutes)))


def loads_words(loads_m3: Sequence[float], words: Words) -> str:
    """3 loads of 10 yd³ and one of 2¼ yd³."""
    runs = [(len(list(run)), said) for said, run in groupby(words.ordered(load) for load in loads_m3)]
    many = [f"{count if count > 1 else 'one'} of {said}" for count, said in runs]
    count, said = runs[0]
    many[0] = f"{count} load{'s' if count > 1 else ''} of {said}"
    return " and ".join(many) if len(many) < 3 else f"{', '.join(many[:-1])} and {many[-1]}"


def key_times(pour: Pour, result: Json, order_by: datetime, words: Words) -> Iterator[KeyTime]:
    """From the call to the plant to the last saw cut; where no joint is needed nobody cuts."""
    zone = site_zone(pour)
    starts_at, placed_at = moment(result["starts_at"]), moment(result["placed_at"])
    people = f"{pour.people} {'person' if pour.people == 1 else 'people'}"
    yield _order_time(pour, order_by, words)
    yield KeyTime("Crew on site", words.clock(moment(result["call_at"]), zone), people)
    yield KeyTime("First truck", words.clock(starts_at, zone), f"{starts_at.astimezone(zone):%Z}")
    placing = f"{lasting(placed_at - starts_at)} of placing"
    yield KeyTime("Last truck empty", words.clock(placed_at, zone), placing)
    yield _trowel_time(result, starts_at, zone, words)
    if result["sawing"]["starts_at"]:
        yield _cut_time(result["sawing"], starts_at, zone, words)


def _order_time(pour: Pour, order_by: datetime, words: Words) -> KeyTime:
    plant_zone = ZoneInfo(pour.plant.time_zone)
    by = order_by.astimezone(plant_zone)
    note = day_words(by.date(), words.units).split(" ", 1)[1]
    if not same_clock(site_zone(pour), plant_zone, order_by):
        note += f", on the plant’s clock ({by:%Z})"
    return KeyTime("Order by", f"{by:%a} {words.clock(by, plant_zone)}", note)


def _trowel_time(result: Json, starts_at: datetime, zone: ZoneInfo, words: Words) -> KeyTime:
    ready, last = result["first_set"]["float_ready"], result["last_set"]["float_ready"]
    last_by = clock_after(about(moment(last["late"])), starts_at, zone, words)
    return KeyTime(
        "Takes a trowel",
        words.about_from_to(moment(ready["early"]), moment(ready["late"]), zone),
        f"first concrete; the last by {last_by}",
    )


def _cut_time(saw: Json, starts_at: datetime, zone: ZoneInfo, words: Words) -> KeyTime:
    opens, closes = about(moment(saw["opens_at"])), about(moment(saw["last_call_at"]))
    by = f"all cut by {clock_after(closes, starts_at, zone, words)}"
    return KeyTime("Try the first cut", clock_after(opens, starts_at, zone, words), by)


def clock_after(at: datetime, starts_at: datetime, zone: ZoneInfo, words: Words) -> str:
    """A clock time of the day that starts then, with its weekday where that is a later one."""
    wall = at.astimezone(zone)
    later = wall.date() > starts_at.astimezone(zone).date()
    return words.clock(at, zone) + (f" {wall:%a}" if later else "")

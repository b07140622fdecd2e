"""One pour on one sheet of paper, for the clipboard: what to know before, and room to write what happens."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Any
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.text import Truncator

from scheduling.models import STANDING_ORDER, Company, Plan, PlantOrder, Pour, PourState, Units
from scheduling.pages.access import needs, pour_or_404
from scheduling.pages.bays import BayDrawing, BayRow, bays_words
from scheduling.pages.brief import KeyTime, arrivals, key_times, loads_words, moment
from scheduling.pages.clashes import pour_name, site_zone
from scheduling.pages.clock import long_day, same_clock
from scheduling.pages.drawings import LayoutDrawing
from scheduling.pages.plans import TeamRow, joint_layouts, team_rows
from scheduling.pages.slabs import kept_columns
from scheduling.pages.windows import StripTable, strip_table
from scheduling.pages.wording import Words
from scheduling.roles import Right
from scheduling.services.sheet import SheetWords, sheet_words

Json = Mapping[str, Any]

# What one page has room for; the rest is on the pour's own page, and the sheet says so.
MOST_STRIPS = {"roomy": 6, "tight": 3, "dense": 2}
MOST_DRAWN = 2
ROOMY_LOADS, TIGHT_LOADS, MOST_LOADS = 6, 12, 18
MOST_SIGNS = 200
MOST_SIZES = 8
AFTER_START = ("Last truck empty", "Takes a trowel", "Try the first cut")
MOST_CAUTIONS = 9
# Three feet by three feet by 36 inches are a cubic yard; a metre by a metre by 100 cm are a cubic metre.
REMAINING = {
    Units.US: ("ft", "ft", "in", "324", "yd³"),
    Units.METRIC: ("m", "m", "cm", "100", "m³"),
}


@dataclass(frozen=True)
class SheetLoad:
    number: int
    amount: str
    asked: str
    batched: str


@dataclass(frozen=True)
class Remaining:
    """What is still to order: length by width by depth over a number, in these units."""

    length: str
    width: str
    depth: str
    over: str
    volume: str
    last_load: int  # 0 where none is held
    call_by: str


@dataclass(frozen=True)
class PourSheet:
    pk: int
    name: str
    day: str
    state: str  # empty while it is booked
    crew_on_site: str
    first_truck: str
    plant_clock: str
    where: str
    directions: str
    notes: str
    order: str
    loads_said: str
    arrivals: str
    order_state: str
    plant: str
    plant_phone: str
    crew: str
    lead: str
    lead_phone: str
    people: str
    spotter: str  # empty where no truck has to back
    teams: tuple[TeamRow, ...]
    loads: tuple[SheetLoad, ...]
    more_loads: int
    density: str
    age_limit_min: int
    times: tuple[KeyTime, ...]
    strips: StripTable | None
    words: SheetWords
    more_cautions: int
    bay_sizes: tuple[str, ...]
    bays_by_load: tuple[str, ...]
    more_drawn: int
    drawings: tuple[BayDrawing, ...]
    layouts: tuple[LayoutDrawing, ...]
    remaining: Remaining
    made: str


@needs(Right.SEE_WEEK)
def sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """The sheet of a planned pour; one without a plan says that there is nothing to print yet."""
    pour = pour_or_404(request, pk)
    words = Words.of(Company.objects.first())
    shown = {"pk": pk, "name": pour_name(pour), "sheet": _sheet(pour, words) if pour.plan else None}
    return render(request, "pages/sheet.html", shown)


def _sheet(pour: Pour, words: Words) -> PourSheet:
    zone, said = site_zone(pour), sheet_words(pour=pour)
    return PourSheet(
        pk=pour.pk,
        name=pour_name(pour),
        day=long_day(pour.starts_at.astimezone(zone).date(), words.units),
        state="" if pour.state == PourState.BOOKED else pour.get_state_display(),
        plant_clock=_plant_clock(pour, words),
        where=_where(pour),
        directions=_short(pour.job.site.directions),
        plant=pour.plant.name,
        plant_phone=pour.plant.phone.as_national if pour.plant.phone else "",
        notes=_short(pour.notes),
        words=SheetWords(said.cautions[:MOST_CAUTIONS], said.load, said.weather),
        more_cautions=max(0, len(said.cautions) - MOST_CAUTIONS),
        **_crew(pour),
        **_planned(pour, pour.plan, zone, words) if pour.plan else {},
    )


def _planned(pour: Pour, plan: Plan, zone: ZoneInfo, words: Words) -> dict[str, Any]:
    """What the plan says of trucks, teams, windows and slab."""
    result, order = plan.result, pour.orders.filter(state__in=STANDING_ORDER).first()
    first_truck = words.clock(plan.starts_at, zone)
    loads = tuple(_loads(result["delivery"]["loads"], zone, words))
    strips = strip_table(result, zone, words)
    times = key_times(pour, result, pour.starts_at, words)
    return {
        "crew_on_site": words.clock(plan.call_at, zone),
        "first_truck": first_truck,
        "order": f"{words.ordered(plan.order_m3)} of {pour.mix.code}",
        "loads_said": loads_words(result["quantity"]["loads_m3"], words),
        "arrivals": arrivals(result).spoken(first_truck),
        "order_state": _order_state(order),
        "teams": tuple(team_rows(result["line"], words)),
        "loads": loads[:MOST_LOADS],
        "more_loads": max(0, len(loads) - MOST_LOADS),
        "density": _density(len(loads)),
        "age_limit_min": round(plan.inputs["supply"]["age_limit_min"]),
        "times": tuple(time for time in times if time.label in AFTER_START),
        "strips": _fitting(strips, len(loads)) if strips else None,
        "remaining": _remaining(pour, plan, zone, words),
        "made": _made(plan, words),
        **_slab(pour, result, zone, words),
    }


def _slab(pour: Pour, result: Json, zone: ZoneInfo, words: Words) -> dict[str, Any]:
    """Its bays and cuts, drawn and told."""
    columns = [kept_columns(section) for section in pour.sections.all()]
    bays = bays_words(result, columns, zone, words)
    rows = bays.rows if bays and not bays.by_load else ()
    drawings = bays.drawings if bays else ()
    layouts = tuple(joint_layouts(result["sawing"], columns, words))
    return {
        "bay_sizes": tuple(_bay_sizes(rows))[:MOST_SIZES],
        "bays_by_load": tuple(_bays_by_load(result))[:MOST_LOADS],
        "drawings": drawings[:MOST_DRAWN],
        "layouts": layouts[:MOST_DRAWN],
        "more_drawn": max(0, len(drawings) - MOST_DRAWN),
    }


def _fitting(strips: StripTable, loads: int) -> StripTable:
    """As many strips as there is room for beside so many loads, from the first to the last."""
    most = MOST_STRIPS[_density(loads)]
    if len(strips.rows) <= most:
        return strips
    step = (len(strips.rows) - 1) / (most - 1)
    return replace(strips, rows=tuple(strips.rows[round(n * step)] for n in range(most)))


def _density(loads: int) -> str:
    """How close the rows of the trucks stand."""
    if loads <= ROOMY_LOADS:
        return "roomy"
    return "tight" if loads <= TIGHT_LOADS else "dense"


def _bay_sizes(rows: Sequence[BayRow]) -> Iterator[str]:
    """1–8: 13' 0" by 9' 6", where they are alike one after another."""
    for size, alike in groupby(rows, key=lambda row: row.size):
        first, *others = [row.number for row in alike]
        yield f"{first}–{others[-1]}: {size}" if others else f"{first}: {size}"


def _bays_by_load(result: Json) -> Iterator[str]:
    """Load 2: 5–8; a bay of two loads is told with each. They are filled in order of their numbers."""
    filled: dict[int, list[int]] = {}
    for bay in (result.get("bays") or {}).get("bays", ()):
        for load in bay["loads"]:
            filled.setdefault(load, []).append(bay["number"])
    for load, bays in sorted(filled.items()):
        yield f"load {load}: {bays[0]}{f'–{bays[-1]}' if len(bays) > 1 else ''}"


def _made(plan: Plan, words: Words) -> str:
    """Which plan this is, so that a sheet in the truck can be told from a newer one."""
    made, printed = (words.day_and_time(at, words.office) for at in (plan.made_at, timezone.now()))
    return f"Plan {plan.number} of {made}; printed {printed}."


def _where(pour: Pour) -> str:
    site = pour.job.site
    return ", ".join(part for part in (site.name if site.name != pour.job.name else "", site.address) if part)


def _short(text: str) -> str:
    return Truncator(" ".join(text.split())).chars(MOST_SIGNS, truncate="… (more on the pour’s page)")


def _plant_clock(pour: Pour, words: Words) -> str:
    """The first truck on the plant's clock where that shows something else."""
    plant_zone = ZoneInfo(pour.plant.time_zone)
    if same_clock(site_zone(pour), plant_zone, pour.starts_at):
        return ""
    return f"{words.clock(pour.starts_at, plant_zone)} {pour.starts_at.astimezone(plant_zone):%Z} there"


def _order_state(order: PlantOrder | None) -> str:
    if order is None:
        return "no order stands"
    ticket = f", number {order.ticket}" if order.ticket else ""
    return f"{order.get_state_display()}{ticket}"


def _crew(pour: Pour) -> dict[str, Any]:
    """Who leads and who comes."""
    crew = pour.crew
    lead = crew.lead if crew else None
    names = crew.workers.filter(active=True).exclude(user=crew.lead_id) if crew else ()
    return {
        "crew": crew.name if crew else "No crew yet",
        "lead": str(lead) if lead else "",
        "lead_phone": lead.phone.as_national if lead and lead.phone else "",
        "people": ", ".join(worker.name for worker in names),
        "spotter": (pour.spotter or "_" * 24) if pour.job.site.trucks_must_back else "",
    }


def _loads(loads: Sequence[Json], zone: ZoneInfo, words: Words) -> Iterator[SheetLoad]:
    for load in loads:
        asked_at = moment(load.get("asked_at", load["arrives_at"]))
        batched = words.clock(moment(load["batch_at"]), zone)
        yield SheetLoad(load["number"], words.ordered(load["m3"]), words.clock(asked_at, zone), batched)


def _remaining(pour: Pour, plan: Plan, zone: ZoneInfo, words: Words) -> Remaining:
    """The last load is called before it is batched, or before the plant closes if that is sooner."""
    last = plan.result["delivery"]["loads"][-1]
    closes = plan.inputs["supply"]["closes_at"]
    until = [moment(last["batch_at"]), *([moment(closes)] if closes else [])]
    held = last["number"] if pour.hold_last_load and last["number"] > 1 else 0
    return Remaining(*REMAINING[Units(words.units)], held, words.clock(min(until), zone))

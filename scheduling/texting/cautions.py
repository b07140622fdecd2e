"""What a crew is warned of, in the few words a text has room for."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.utils.translation import gettext

from scheduling.texting.clock import clock, the_clock


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """A finding of the plan: its code, when it holds on the site's own clock, and its one number as told."""

    code: str
    is_stop: bool = False
    from_at: datetime | None = None
    until_at: datetime | None = None
    figure: str = ""


def _when(caution: Caution, day: datetime) -> str:
    """`` 10am-2pm``, or `` from 1pm`` where the end is not known; empty without a beginning."""
    if caution.from_at is None:
        return ""
    if caution.until_at is None or caution.until_at <= caution.from_at:
        return gettext(" from {the_clock}").format(the_clock=the_clock(caution.from_at, day))
    return f" {clock(caution.from_at, day)}-{clock(caution.until_at, caution.from_at)}"


# Gravest first. A finding that is not here is for the office, not for the crew. The catalogue of translations
# takes every one of them.
CAUTIONS: dict[str, str] = {
    "plant_shut": "plant is shut that day",
    "plant_not_open": "plant opens too late for the first load",
    "plant_closed": "plant closes before load {figure}",
    "out_of_reach": "concrete gets only {figure} from the truck this way",
    "frozen_base": "base is frozen: no pour until it is thawed and read again",
    "chloride_steel": "no calcium chloride on steel: ask for another mix",
    "chloride_decorative": "no calcium chloride in a decorative slab: ask for another mix",
    "silica_outdoors_only": "drivable saw may not cut indoors",
    "boom_wind": "too windy for the boom{when}",
    "spotter_needed": "no truck backs until you name a spotter, not the chute hand",
    "load_too_old": "load {figure} would be too old",
    "load_expires": "a load on site is too old",
    "load_age_unknown": "read the batch time off the ticket",
    "gap_too_long": "no concrete too long: bulkhead",
    "spotter_named": "spotter for backing trucks: {figure}, not on the chute",
    "stand_clear": "stand clear of the hose at prime, restart, after a move or blockage",
    "power_lines": "power lines overhead",
    "carbon_monoxide": "engines indoors: open up, run fans",
    "thunder": "thunder{when}",
    "heat_illness": "heat{when}: water, shade, rests",
    "rain": "rain{when}: sheets at hand",
    "evaporation_high": "dries fast{when}: fog, cover",
    "hot_concrete": "hot concrete {figure}",
    "base_may_freeze": "check the base for frost",
    "frost": "frost{when}: no pour on frozen ground, blankets",
    "cold_weather": "cold{when}: blankets",
    "cold_concrete": "cold concrete {figure}",
    "cold_placing": "send back concrete under {figure}",
    "blanket_wind": "gusts{when}: weigh blankets down",
    "finishing_while_placing": "first strip wants floats{when}, before the last load",
    "finishing_short": "too few finishers",
    "saw_short": "one saw will not cut it all in time",
    "crew_thin": "crew is thin",
    "weather_assumed": "no forecast: float and cut times are for a mild day",
    "evaporation_unknown": "drying not known: watch the surface",
    "silica_assessment": "dry saw: masks, stay upwind",
}
_ORDER = {code: place for place, code in enumerate(CAUTIONS)}


def warnings(cautions: Iterable[Caution], day: datetime, *, call_office: bool = True) -> list[str]:
    """Sentences for those a crew can act on, what stops the pour first, then gravest first.

    `call_office` is what a crew does about a stop; the office itself is not told to call.
    """
    known = sorted(
        (caution for caution in cautions if caution.code in CAUTIONS),
        key=lambda caution: (not caution.is_stop, _ORDER[caution.code]),
    )
    return [_warning(caution, day, call_office) for caution in known]


def _warning(caution: Caution, day: datetime, call_office: bool) -> str:
    words = gettext(CAUTIONS[caution.code]).format(figure=caution.figure, when=_when(caution, day))
    if caution.is_stop and call_office:
        return gettext("STOP, call the office: {words}.").format(words=words)
    if caution.is_stop:
        return gettext("STOP: {words}.").format(words=words)
    return f"{words[0].upper()}{words[1:]}."

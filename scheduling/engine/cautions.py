"""What can hurt people on this pour, from how it is placed, finished and cut."""

from __future__ import annotations

from collections.abc import Iterator

from scheduling.engine.carrying import barrow_load_m3, carry_distance_m
from scheduling.engine.inputs import (
    Fact,
    Finding,
    Finish,
    Finishing,
    Method,
    Mix,
    Place,
    Placing,
    Severity,
)
from scheduling.engine.methods import METHODS
from scheduling.engine.silica import silica_finding

# Booms no nearer to power lines than 17 ft (trade magazine); local rules by the voltage go before it.
BOOM_CLEARANCE_M = 17 * 0.3048
HEAVY_BARROW_KG = 100.0  # our choice: from here a barrow on the move wants a firm run of boards


def safety_findings(
    place: Place, finishing: Finishing, placing: Placing, mix: Mix, cutting_h: float
) -> tuple[Finding, ...]:
    """List the dangers to tell the crew of before they start.

    Parameters
    ----------
    place : Place
        Whether trucks must back, whether there are power lines, whether it is under a roof.
    finishing : Finishing
        Finish, power trowels and the saw, for fumes and dust.
    placing : Placing
        Method, for hoses, booms and barrows.
    mix : Mix
        How heavy it is.
    cutting_h : float
        Hours of cutting joints; 0 where there are none.

    Returns
    -------
    tuple of Finding
        Codes ``spotter_needed`` or ``spotter_named``, ``power_lines``, ``stand_clear``, ``heavy_barrows``,
        ``wet_concrete_burns`` (always), what `silica_finding` says of the cutting, ``carbon_monoxide``.
    """
    return (
        *_truck_findings(place, placing),
        *_method_findings(placing, mix),
        _burns(),
        *([silica_finding(finishing.saw, place.indoors, cutting_h)] if cutting_h > 0 else []),
        *_fumes(place, finishing, placing, cutting_h),
    )


def _truck_findings(place: Place, placing: Placing) -> Iterator[Finding]:
    if place.trucks_must_back:
        # Somebody who watches only the truck: the one at the chute stands where it is heading.
        source = "NIOSH FACE 04NE040 and California FACE 07CA001"
        if place.spotter:
            yield Finding(Severity.NOTE, "spotter_named", {"spotter": place.spotter}, source)
        else:
            yield Finding(Severity.CAUTION, "spotter_needed", {"people": 1}, source)
    if place.power_lines:
        facts: dict[str, Fact] = {"boom": placing.method is Method.BOOM_PUMP}
        if facts["boom"]:
            facts["clearance_m"] = BOOM_CLEARANCE_M
        yield Finding(Severity.CAUTION, "power_lines", facts, "the local code's clearance distance")


def _method_findings(placing: Placing, mix: Mix) -> Iterator[Finding]:
    if METHODS[placing.method].is_pump:
        # Air in the line lets go at once: the hose whips when it is primed, restarted or cleared.
        moments: dict[str, Fact] = {"after_a_move": placing.hose_moves + placing.pump_moves > 0}
        yield Finding(Severity.CAUTION, "stand_clear", moments, "WorkSafeBC 2023181300014 and 2007105910")
    barrow_kg = barrow_load_m3(placing) * mix.density_kg_m3
    if placing.method is Method.BARROW and barrow_kg >= HEAVY_BARROW_KG:
        facts: dict[str, Fact] = {
            "barrow_kg": barrow_kg,
            "carry_m": carry_distance_m(placing),
            "rise_m": placing.rise_m,
        }
        yield Finding(Severity.NOTE, "heavy_barrows", facts, "our choice")


def _burns() -> Finding:
    kit = {"rubber_boots": True, "gloves": True, "wash_water": True}
    return Finding(Severity.CAUTION, "wet_concrete_burns", kit, "NIOSH and CPWR on wet cement")


def _fumes(place: Place, finishing: Finishing, placing: Placing, cutting_h: float) -> Iterator[Finding]:
    """Engines under a roof: the saw, buggies, and power trowels where the finish is worked by machine."""
    if place.indoors:
        trowels = 0 if finishing.finish is Finish.BROOM else finishing.power_trowels
        buggies = (placing.carts or 1) if placing.method is Method.POWER_BUGGY else 0
        engines: dict[str, Fact] = {
            "power_trowels": trowels,
            "saws": int(cutting_h > 0),
            "power_buggies": buggies,
        }
        if not any(engines.values()):
            return
        yield Finding(Severity.CAUTION, "carbon_monoxide", engines, "NIOSH 96-118 (from memory)")

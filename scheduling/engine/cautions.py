"""What can hurt people on this pour, from how it is placed, finished and cut."""

from __future__ import annotations

from collections.abc import Iterator

from scheduling.engine.inputs import Fact, Finding, Finish, Finishing, Place, SawType, Severity

_SILICA_RULE = "OSHA 29 CFR 1926.1153 Table 1"
_RESPIRATOR_APF_INDOORS = 10


def safety_findings(place: Place, finishing: Finishing) -> tuple[Finding, ...]:
    """List the dangers to tell the crew of before they start.

    Parameters
    ----------
    place : Place
        Whether trucks must back, whether there are power lines, whether it is under a roof.
    finishing : Finishing
        Finish, power trowels and the saw, for fumes and dust.

    Returns
    -------
    tuple of Finding
        Codes ``spotter_needed``, ``power_lines``, ``wet_concrete_burns`` (always), ``silica_wet_saw``
        or ``silica_assessment``, ``carbon_monoxide``.
    """
    return (*_truck_findings(place), _burns(), _silica(place, finishing), *_fumes(place, finishing))


def _truck_findings(place: Place) -> Iterator[Finding]:
    if place.trucks_must_back:
        # Somebody who watches only the truck: the one at the chute stands where it is heading.
        yield Finding(Severity.CAUTION, "spotter_needed", {"people": 1}, "NIOSH FACE 04NE040")
    if place.power_lines:
        yield Finding(Severity.CAUTION, "power_lines", {}, "the local code's clearance distance")


def _burns() -> Finding:
    kit = {"rubber_boots": True, "gloves": True, "wash_water": True}
    return Finding(Severity.CAUTION, "wet_concrete_burns", kit, "NIOSH and CPWR on wet cement")


def _silica(place: Place, finishing: Finishing) -> Finding:
    """Dust from the saw: the rule knows the walk-behind saw with water, not the early-entry saw run dry."""
    if finishing.saw is SawType.EARLY_ENTRY:
        return Finding(Severity.CAUTION, "silica_assessment", {"indoors": place.indoors}, _SILICA_RULE)
    apf = _RESPIRATOR_APF_INDOORS if place.indoors else 0
    severity = Severity.CAUTION if place.indoors else Severity.NOTE
    facts: dict[str, Fact] = {"indoors": place.indoors, "water_on_blade": True, "respirator_apf": apf}
    return Finding(severity, "silica_wet_saw", facts, f"{_SILICA_RULE}, walk-behind saw (from memory)")


def _fumes(place: Place, finishing: Finishing) -> Iterator[Finding]:
    """Engines under a roof: the saw always, the power trowels where the finish is worked by machine."""
    if place.indoors:
        trowels = 0 if finishing.finish is Finish.BROOM else finishing.power_trowels
        engines = {"power_trowels": trowels, "saws": 1}
        yield Finding(Severity.CAUTION, "carbon_monoxide", engines, "NIOSH 96-118 (from memory)")

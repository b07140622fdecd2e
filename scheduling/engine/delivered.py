"""How warm concrete leaves the plant by what it is made of, what the haul takes off it, and how it comes."""

from __future__ import annotations

from dataclasses import dataclass

from scheduling.engine.inputs import (
    BadInput,
    Batch,
    Fact,
    Finding,
    PourRequest,
    Severity,
    require_not_negative,
)
from scheduling.engine.temperature import delivered_estimate_c

# Heat of dry solids against water's, and what melting ice takes, in kelvin of as much water: ACI 305R's
# 0.22 and 80 (112 in °F, which is 144 less the 32 from which °F counts).
SOLIDS_HEAT = 0.22
ICE_K = 80.0

# Lost an hour for each kelvin between concrete and air in a revolving drum: ACI 306R-88, after Petersons
# (1966), from memory.
DRUM_LOSS_PER_H = 0.25

MUCH_ICE = 0.5  # of the water: from about here the equation promises too much cold, as a study of it found


@dataclass(frozen=True, slots=True)
class Delivered:
    """Concrete's temperature as it is discharged, °C, and whether it is a guess from the air.

    `concrete_c` is None where neither anybody gave it nor the air is known.
    """

    concrete_c: float | None
    estimated: bool
    findings: tuple[Finding, ...] = ()


def mixed_c(batch: Batch) -> float:
    """Return how warm concrete leaves the mixer, °C.

    Everything comes to one temperature, solids taking 0.22 of what water takes, and ice 80 K of as much
    water to melt: ACI 305R's equation. It is trusted up to ice for half of the water.
    """
    poured_kg = batch.water_kg_m3 - batch.ice_kg_m3 - batch.moisture_kg_m3
    heat = (
        SOLIDS_HEAT * (batch.aggregate_kg_m3 * batch.aggregate_c + batch.cement_kg_m3 * batch.cement_c)
        + poured_kg * batch.water_c
        + batch.moisture_kg_m3 * batch.aggregate_c
        - ICE_K * batch.ice_kg_m3
    )
    return heat / (SOLIDS_HEAT * (batch.aggregate_kg_m3 + batch.cement_kg_m3) + batch.water_kg_m3)


def haul_loss_k(job_c: float, air_c: float, hours: float) -> float:
    """Return by how much warmer concrete must leave than it shall come, kelvin; below 0 in hotter air.

    ``0.25 (tr - ta)`` an hour in a revolving drum, `tr` being what the job requires: ACI 306R-88.
    """
    require_not_negative("hours", hours)
    return DRUM_LOSS_PER_H * hours * (job_c - air_c)


def hauled_c(left_c: float, air_c: float, hours: float) -> float:
    """Return how warm concrete comes that left at `left_c`: `haul_loss_k` turned round."""
    require_not_negative("hours", hours)
    return (left_c + DRUM_LOSS_PER_H * hours * air_c) / (1 + DRUM_LOSS_PER_H * hours)


def delivered(request: PourRequest, air_c: float | None, unload_min: float) -> Delivered:
    """Return how warm the concrete comes: as given, else by its ingredients and the haul, else from the air.

    Parameters
    ----------
    request : PourRequest
    air_c : float or None
        When the first truck discharges, °C; None where the forecast does not tell.
    unload_min : float
        How long a truck empties; its concrete is out half of that after it came, on average.

    Returns
    -------
    Delivered
        NOTE ``concrete_mixed`` tells of ingredients and haul; CAUTION ``much_ice`` where over half of the
        water is ice.

    Raises
    ------
    BadInput
        Where the ingredients make no concrete between 0 and 45 °C.
    """
    if request.concrete_c is not None:
        return Delivered(request.concrete_c, estimated=False)
    if request.batch is not None:
        return _of_batch(request.batch, air_c, (request.supply.haul_min + unload_min / 2) / 60)
    return Delivered(None if air_c is None else delivered_estimate_c(air_c), estimated=True)


def _of_batch(batch: Batch, air_c: float | None, hours: float) -> Delivered:
    """Where the air is not known the haul is taken to change nothing."""
    left_c = mixed_c(batch)
    came_c = left_c if air_c is None else hauled_c(left_c, air_c, hours)
    if not 0 <= came_c <= 45:
        message = f"Ingredients as warm as that make concrete of {came_c:.0f} °C. Look at them again."
        raise BadInput("aggregate_c", "no_concrete", message)
    facts: dict[str, Fact] = {"mixed_c": left_c, "concrete_c": came_c, "way_min": hours * 60}
    note = Finding(Severity.NOTE, "concrete_mixed", facts, "ACI 305R; ACI 306R-88")
    return Delivered(came_c, False, (note, *_much_ice(batch)))


def _much_ice(batch: Batch) -> tuple[Finding, ...]:
    share = batch.ice_kg_m3 / batch.water_kg_m3
    if share <= MUCH_ICE:
        return ()
    facts: dict[str, Fact] = {"ice_fraction": share}
    return (Finding(Severity.CAUTION, "much_ice", facts, "a study of ACI 305R's equation"),)

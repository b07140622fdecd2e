"""What goes into the drum, and how warm it is: from which concrete's own temperature follows."""

from __future__ import annotations

from dataclasses import dataclass

from scheduling.engine.inputs.checks import BadInput, require_not_negative, require_positive

MOST_ICE_OF_WATER = 0.75  # more cannot be got in and melted by the end of mixing (common practice, no source)


USUAL_CEMENT_C = 66.0  # as PCA reckons in its example, from memory: cement comes hot from the mill


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    """The ingredients of a cubic metre and their temperatures as batched.

    `water_kg_m3` is all the mixing water, the ice and what clings to the stone among it; `ice_kg_m3` is
    what of it goes in as ice at 0 °C. `aggregate_kg_m3` is dry, sand and stone together, with
    `moisture_kg_m3` of water on it as warm as they are.
    """

    cement_kg_m3: float
    water_kg_m3: float
    aggregate_kg_m3: float
    water_c: float
    aggregate_c: float
    cement_c: float = USUAL_CEMENT_C
    ice_kg_m3: float = 0.0
    moisture_kg_m3: float = 0.0

    def __post_init__(self) -> None:
        require_positive("cement_kg_m3", self.cement_kg_m3, upper=1000)
        require_positive("water_kg_m3", self.water_kg_m3, upper=500)
        require_positive("aggregate_kg_m3", self.aggregate_kg_m3, upper=3000)
        require_not_negative("moisture_kg_m3", self.moisture_kg_m3, upper=self.water_kg_m3)
        require_not_negative("ice_kg_m3", self.ice_kg_m3, upper=MOST_ICE_OF_WATER * self.water_kg_m3)
        if self.ice_kg_m3 + self.moisture_kg_m3 > self.water_kg_m3:
            message = "ice_kg_m3 and moisture_kg_m3 together must be at most water_kg_m3."
            raise BadInput("ice_kg_m3", "over_water", message)
        for name, least, most in (("cement_c", -20, 110), ("water_c", 0, 85), ("aggregate_c", -20, 80)):
            if not least <= getattr(self, name) <= most:
                raise BadInput(name, "out_of_range", f"{name} must be from {least} to {most}.")

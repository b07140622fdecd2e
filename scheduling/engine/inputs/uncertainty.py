"""What may turn out otherwise than planned."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from scheduling.engine.inputs.checks import BadInput, require_not_negative

CUSTOMARY_LATENESS_MIN = 15.0  # on time is within 15 min either side: a supplier's published price page


@dataclass(frozen=True, slots=True, kw_only=True)
class Uncertainty:
    """How far trucks and people stray from the plan. The defaults are our choice.

    A truck's lateness is spent on the road, so a late load is an old one. It is normal with
    `late_mean_min` and `late_sd_min`, cut off at `earliest_min` and `latest_min`; an infinite
    `late_sd_min` makes every lateness between the two as likely. Unloading is lognormal about load
    divided by rate, with `unload_cv` its standard deviation over its mean: 0.2 to 0.5 as reported of
    placing. `changeover_min` stands between any two trucks, on top of what a site for one truck
    needs; it is 0 because a crew's rate is measured with its changes of truck. `overtaking_chance`
    is how likely a truck that is faster than the one sent before it can pass it.
    """

    late_mean_min: float = 3.0
    late_sd_min: float = 8.0
    earliest_min: float = -15.0
    latest_min: float = 45.0
    unload_cv: float = 0.3
    changeover_min: float = 0.0
    overtaking_chance: float = 0.05

    def __post_init__(self) -> None:
        for name in ("late_mean_min", "earliest_min", "latest_min"):
            if not math.isfinite(getattr(self, name)):
                raise BadInput(name, "not_finite", f"{name} must be a finite number.")
        if not self.earliest_min <= self.late_mean_min <= self.latest_min:
            message = "late_mean_min must lie between earliest_min and latest_min."
            raise BadInput("late_mean_min", "out_of_range", message)
        if not self.late_sd_min >= 0:
            raise BadInput("late_sd_min", "negative", "late_sd_min must be 0 or more.")
        require_not_negative("unload_cv", self.unload_cv, upper=3)
        require_not_negative("changeover_min", self.changeover_min, upper=120)
        require_not_negative("overtaking_chance", self.overtaking_chance, upper=1)

    def with_customary_lateness(self) -> Uncertainty:
        """The same but for trucks that are anywhere within the 15 min either side that count as on time."""
        return replace(
            self,
            late_mean_min=0.0,
            late_sd_min=math.inf,
            earliest_min=-CUSTOMARY_LATENESS_MIN,
            latest_min=CUSTOMARY_LATENESS_MIN,
        )

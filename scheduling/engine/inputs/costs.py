"""What waiting, a lost load and a cold joint cost, and how suppliers charge for trucks kept on site.

Money is in the company's own currency.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum

from scheduling.engine.inputs.checks import require_aware, require_not_negative, require_positive


class Counted(StrEnum):
    """How the minutes over the free ones are billed."""

    EXACT = "exact"  # as they are, parts of a block too
    STARTED = "started"  # a block begun is a block paid
    FULL = "full"  # only blocks that are over


@dataclass(frozen=True, slots=True, kw_only=True)
class TruckWaitRule:
    """What one supplier charges for a truck on site: so many minutes free, then `price` per `block_min`.

    The free minutes are `free_min` for the truck and `free_min_per_m3` for what it carries; most
    suppliers give one or the other. They run from arrival to the end of discharge.
    """

    free_min: float = 0.0
    free_min_per_m3: float = 0.0
    price: float
    block_min: float = 1.0
    counted: Counted = Counted.EXACT

    def __post_init__(self) -> None:
        for name in ("free_min", "free_min_per_m3", "price"):
            require_not_negative(name, getattr(self, name))
        require_positive("block_min", self.block_min)


# 7 min per cubic yard, then 130 an hour: a supplier's published price page
USUAL_RULE = TruckWaitRule(free_min_per_m3=7 / 0.764554857984, price=130.0, block_min=60.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Costs:
    """What a plan is weighed by. Every default is our choice, meant to be replaced by the company's own.

    `truck_per_h` is what a truck standing is worth to us inside its free minutes as well: the plant
    gives its trucks to those who send them back. `rejected_load` holds concrete, disposal and its
    replacement; `cold_joint` what a joint in the wrong place costs to cut out or live with.
    `overtime_per_h` comes on top of `crew_per_h` from `overtime_from_at` on.
    """

    crew_per_h: float = 250.0
    truck_per_h: float = 30.0
    truck_wait: TruckWaitRule = field(default=USUAL_RULE)
    rejected_load: float = 1500.0
    cold_joint: float = 5000.0
    overtime_per_h: float = 125.0
    overtime_from_at: datetime | None = None

    def __post_init__(self) -> None:
        for name in ("crew_per_h", "truck_per_h", "rejected_load", "cold_joint", "overtime_per_h"):
            require_not_negative(name, getattr(self, name))
        if self.overtime_from_at is not None:
            require_aware("overtime_from_at", self.overtime_from_at)

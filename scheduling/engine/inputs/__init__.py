"""What the engine is asked: the slab, the people, the plant and the place.

Plain values in SI units, frozen, checked when made. Every name carries its unit. Nothing here
knows Django, the clock or settings. Each topic has a module; all of them are reached from here.
"""

from scheduling.engine.inputs.answers import (
    Fact,
    Finding,
    Phase,
    PhaseKind,
    Severity,
    Window,
)
from scheduling.engine.inputs.batch import (
    Batch,
)
from scheduling.engine.inputs.checks import (
    BadInput,
    require_aware,
    require_not_negative,
    require_positive,
)
from scheduling.engine.inputs.costs import (
    USUAL_RULE,
    Costs,
    Counted,
    TruckWaitRule,
)
from scheduling.engine.inputs.request import (
    PourRequest,
    WeatherHour,
)
from scheduling.engine.inputs.slab import (
    Allowance,
    AllowanceKind,
    Circle,
    Depth,
    DepthAllowance,
    DepthKind,
    FallingBase,
    FallingTop,
    Opening,
    Outline,
    PercentAllowance,
    PlainArea,
    Polygon,
    Rectangle,
    Section,
    Shape,
    SpotDepths,
    SpreadAllowance,
    ThickenedEdge,
    Trapezoid,
    UniformDepth,
)
from scheduling.engine.inputs.supply import (
    Admixture,
    Mix,
    Supply,
)
from scheduling.engine.inputs.uncertainty import (
    CUSTOMARY_LATENESS_MIN,
    Uncertainty,
)
from scheduling.engine.inputs.work import (
    Finish,
    Finishing,
    Method,
    Place,
    Placing,
    Reinforcement,
    SawType,
    Screed,
    Side,
)

__all__ = [
    "CUSTOMARY_LATENESS_MIN",
    "USUAL_RULE",
    "Admixture",
    "Allowance",
    "AllowanceKind",
    "BadInput",
    "Batch",
    "Circle",
    "Costs",
    "Counted",
    "Depth",
    "DepthAllowance",
    "DepthKind",
    "Fact",
    "FallingBase",
    "FallingTop",
    "Finding",
    "Finish",
    "Finishing",
    "Method",
    "Mix",
    "Opening",
    "Outline",
    "PercentAllowance",
    "Phase",
    "PhaseKind",
    "Place",
    "Placing",
    "PlainArea",
    "Polygon",
    "PourRequest",
    "Rectangle",
    "Reinforcement",
    "SawType",
    "Screed",
    "Section",
    "Severity",
    "Shape",
    "Side",
    "SpotDepths",
    "SpreadAllowance",
    "Supply",
    "ThickenedEdge",
    "Trapezoid",
    "TruckWaitRule",
    "Uncertainty",
    "UniformDepth",
    "WeatherHour",
    "Window",
    "require_aware",
    "require_not_negative",
    "require_positive",
]

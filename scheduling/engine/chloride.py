"""Calcium chloride as an accelerator: how much goes in, and where it may not."""

from __future__ import annotations

from scheduling.engine.hydration import CEMENT_KG_M3
from scheduling.engine.inputs import Fact, Finding, Finishing, Mix, Reinforcement, Severity


def chloride_kg(mix: Mix, order_m3: float) -> float:
    """Return all the calcium chloride in so much concrete, by the mix's cement or an ordinary one's."""
    cement_kg_m3 = CEMENT_KG_M3 if mix.cement_kg_m3 is None else mix.cement_kg_m3
    return mix.calcium_chloride_fraction * cement_kg_m3 * order_m3


def chloride_findings(
    mix: Mix, reinforcement: Reinforcement, finishing: Finishing, order_m3: float
) -> tuple[Finding, ...]:
    """Say of a mix with calcium chloride how much that is, and what it harms.

    Returns
    -------
    tuple of Finding
        ``chloride_steel`` STOP over steel, which it rusts, ``chloride_decorative`` STOP in a decorative
        slab, which it stains; where neither is so, ``calcium_chloride`` NOTE. No more than 2 % of the
        cement: `Mix` refuses it.
    """
    if mix.calcium_chloride_fraction <= 0:
        return ()
    facts: dict[str, Fact] = {
        "cement_share_percent": 100 * mix.calcium_chloride_fraction,
        "chloride_kg": chloride_kg(mix, order_m3),
    }
    source = "trade magazine: at most 2 % of the cement, none on steel or decorative work"
    stops = []
    if reinforcement is not Reinforcement.NONE:
        stops.append(Finding(Severity.STOP, "chloride_steel", facts, source))
    if finishing.decorative:
        stops.append(Finding(Severity.STOP, "chloride_decorative", facts, source))
    return tuple(stops) or (Finding(Severity.NOTE, "calcium_chloride", facts, source),)

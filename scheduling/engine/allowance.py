"""How much more than the net volume to order, and whether that is thin or generous."""

from __future__ import annotations

import math
import statistics
from collections.abc import Iterator

from scipy import special

from scheduling.engine.inputs import (
    Allowance,
    DepthAllowance,
    Fact,
    Finding,
    PercentAllowance,
    Section,
    Severity,
    SpotDepths,
    SpreadAllowance,
)
from scheduling.engine.loads import order_in_steps

FALLBACK_PERCENT = 5.0  # our choice, inside the usual range
USUAL_PERCENT = (4.0, 10.0)  # NRMCA CIP 8
CIP_8 = "NRMCA CIP 8"


def allowance_for(
    allowance: Allowance,
    sections: tuple[Section, ...],
    areas_m2: tuple[float, ...],
    nets_m3: tuple[float, ...],
) -> tuple[float, tuple[Finding, ...]]:
    """Work out the allowance on top of the net volume.

    Parameters
    ----------
    allowance : Allowance
        Percent of the net; depth over the net area; or the one-sided confidence bound of what the
        measured spots leave unknown, where a section with fewer than two spots falls back to 5 %.
    sections : tuple of Section
    areas_m2, nets_m3 : tuple of float
        Of each section, net of openings.

    Returns
    -------
    tuple of (float, tuple of Finding)
        Cubic metres; "spread_needs_spots" when any section fell back.

    Notes
    -----
    Spread: sections are taken as independent, their variances of the mean added, and the bound is
    Student's t at the degrees of freedom of Welch, Biometrika 34 (1947) 28-35, which for a single
    section are the number of its spots less one.
    """
    match allowance:
        case PercentAllowance(percent=percent):
            return sum(nets_m3) * percent / 100, ()
        case DepthAllowance(depth_m=depth_m):
            return sum(areas_m2) * depth_m, ()
        case SpreadAllowance(confidence=confidence):
            spread_m3 = _spread_m3(sections, areas_m2, confidence)
            fallback_m3, findings = _fallback(sections, nets_m3)
            return spread_m3 + fallback_m3, findings


def _spots(section: Section) -> tuple[float, ...]:
    """The section's measured depths where there are enough of them to differ."""
    if isinstance(section.depth, SpotDepths) and len(section.depth.depths_m) > 1:
        return section.depth.depths_m
    return ()


def _spread_m3(sections: tuple[Section, ...], areas_m2: tuple[float, ...], confidence: float) -> float:
    measured = [(area, spots) for area, spots in zip(areas_m2, map(_spots, sections), strict=True) if spots]
    variances = [area**2 * statistics.variance(spots) / len(spots) for area, spots in measured]
    total = sum(variances)
    if total == 0:
        return 0.0
    shares = [(v / total) ** 2 / (len(spots) - 1) for v, (_, spots) in zip(variances, measured, strict=True)]
    return float(special.stdtrit(1 / sum(shares), confidence)) * math.sqrt(total)


def _fallback(sections: tuple[Section, ...], nets_m3: tuple[float, ...]) -> tuple[float, tuple[Finding, ...]]:
    pairs = zip(sections, nets_m3, strict=True)
    unmeasured_m3 = sum(net for section, net in pairs if not _spots(section))
    if not unmeasured_m3:
        return 0.0, ()
    fallback_m3 = unmeasured_m3 * FALLBACK_PERCENT / 100
    facts = {"unmeasured_m3": unmeasured_m3, "percent": FALLBACK_PERCENT, "fallback_m3": fallback_m3}
    return fallback_m3, (Finding(Severity.CAUTION, "spread_needs_spots", facts, CIP_8),)


def allowance_findings(
    net_m3: float, allowance_m3: float, order_m3: float, step_m3: float
) -> Iterator[Finding]:
    """Tell when the order leaves less than 4 % over the net, or more than 10 % was asked for.

    A thin order is judged by what the plant will send, a generous allowance by what was asked
    for, so that rounding up a small order neither warns nor hides a warning.

    Parameters
    ----------
    net_m3, allowance_m3, order_m3, step_m3 : float

    Returns
    -------
    iterator of Finding
        With the range of orders that 4 to 10 % make (NRMCA CIP 8).
    """
    low, high = (order_in_steps(net_m3 * (1 + percent / 100), step_m3) for percent in USUAL_PERCENT)
    over, asked = 100 * (order_m3 / net_m3 - 1), 100 * allowance_m3 / net_m3
    facts: dict[str, Fact] = {"net_m3": net_m3, "order_m3": order_m3}
    facts |= {"low_order_m3": low, "high_order_m3": high}
    if over < USUAL_PERCENT[0] - 1e-6:
        yield Finding(Severity.CAUTION, "thin_allowance", {"percent": over, **facts}, CIP_8)
    elif asked > USUAL_PERCENT[1] + 1e-6:
        yield Finding(Severity.NOTE, "generous_allowance", {"percent": asked, **facts}, CIP_8)

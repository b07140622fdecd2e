"""How fast a slab may be placed so that those who finish it are not left with concrete past saving."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from scheduling.engine.finishing import MOST_PEOPLE, PASSES, pass_rate_m2_h
from scheduling.engine.inputs import (
    Fact,
    Finding,
    Finishing,
    Severity,
    require_not_negative,
    require_positive,
)
from scheduling.engine.setting import SetTimes

NOISE = 1e-9


@dataclass(frozen=True, slots=True)
class FinishPace:
    """The rate the trucks should be held to. `safe_m3_h` is None where finishing sets no bound."""

    rate_m3_h: float
    safe_m3_h: float | None
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class _Slab:
    """The slab, and how long its first and its last strip stay workable, float-ready to final set."""

    area_m2: float
    depth_m: float
    first_h: float
    last_h: float

    def safe_m3_h(self, finishing: Finishing) -> float:
        """The fastest placing this party can follow; each run of passes inside its own stretch of time."""
        stretches = PASSES[finishing.finish]
        pass_h_m2 = [
            1 / pass_rate_m2_h(stretch.kind, finishing.people, finishing.power_trowels)
            for stretch in stretches
        ]
        rates_m2_h = (
            fastest_safe_rate_m2_h(
                1 / math.fsum(pass_h_m2[begin : end + 1]),
                self.area_m2,
                max(0.0, stretches[end].closes * self.last_h - stretches[begin].opens * self.first_h),
            )
            for begin in range(len(stretches))
            for end in range(begin, len(stretches))
        )
        return min(rates_m2_h) * self.depth_m


def fastest_safe_rate_m2_h(coverage_m2_h: float, area_m2: float, window_h: float) -> float:
    """Return the fastest placing that finishers can follow.

    They begin on the first strip as it comes ready and are done ``A / f`` later; the last strip, placed
    ``A / p`` after the first, must not be past saving by then: ``A / f <= A / p + w``, so
    ``p = 1 / (1 / f - w / A)``.

    Parameters
    ----------
    coverage_m2_h : float
        Finished per hour in all passes, f.
    area_m2 : float
        A.
    window_h : float
        How long any one strip stays workable, w.

    Returns
    -------
    float
        m2/h; infinite where the whole slab can be finished within one strip's window.

    Raises
    ------
    BadInput
        Coverage or area not positive, or a negative window.
    """
    require_positive("coverage_m2_h", coverage_m2_h)
    require_positive("area_m2", area_m2)
    require_not_negative("window_h", window_h)
    behind_h_m2 = 1 / coverage_m2_h - window_h / area_m2
    return 1 / behind_h_m2 if behind_h_m2 > NOISE / coverage_m2_h else math.inf


def finish_pace(
    finishing: Finishing,
    area_m2: float,
    depth_m: float,
    line_m3_h: float,
    first_set: SetTimes,
    last_set: SetTimes,
) -> FinishPace:
    """Hold placing to what the finishing party can follow.

    Parameters
    ----------
    finishing : Finishing
        People who stay, finish, and power trowels.
    area_m2, depth_m : float
        Of the slab; depth as ordered.
    line_m3_h : float
        What the placing crew could place.
    first_set, last_set : SetTimes
        Of the first and the last strip, as placed at that rate.

    Returns
    -------
    FinishPace
        With CAUTION ``finishing_limits_placing`` where the line is faster than is safe: how much longer
        placing takes at the safe rate, and how many finishers or power trowels would lift it (None:
        no number would).

    Notes
    -----
    The bound of `fastest_safe_rate_m2_h` for all passes together, and for every run of them that must
    open and close inside a stretch of its own.
    """
    require_positive("line_m3_h", line_m3_h)
    require_positive("depth_m", depth_m)
    slab = _Slab(area_m2, depth_m, _workable_h(first_set), _workable_h(last_set))
    safe_m3_h = slab.safe_m3_h(finishing)
    return FinishPace(
        rate_m3_h=min(line_m3_h, safe_m3_h),
        safe_m3_h=None if math.isinf(safe_m3_h) else safe_m3_h,
        findings=tuple(_findings(slab, finishing, line_m3_h, safe_m3_h)),
    )


def _workable_h(strip: SetTimes) -> float:
    return (strip.final.likely - strip.float_ready.likely).total_seconds() / 3600


def _findings(slab: _Slab, finishing: Finishing, line_m3_h: float, safe_m3_h: float) -> Iterator[Finding]:
    if line_m3_h <= safe_m3_h * (1 + NOISE):
        return
    more_people = (replace(finishing, people=n) for n in range(finishing.people + 1, MOST_PEOPLE + 1))
    trowels = range(finishing.power_trowels + 1, finishing.people + 1)
    more_trowels = (replace(finishing, power_trowels=n) for n in trowels)
    volume_m3 = slab.area_m2 * slab.depth_m
    facts: dict[str, Fact] = {
        "line_m3_h": line_m3_h,
        "safe_m3_h": safe_m3_h,
        "longer_min": 60 * volume_m3 * (1 / safe_m3_h - 1 / line_m3_h),
        "window_h": min(slab.first_h, slab.last_h),
        "people": finishing.people,
        "people_needed": next((p.people for p in more_people if slab.safe_m3_h(p) >= line_m3_h), None),
        "power_trowels": finishing.power_trowels,
        "power_trowels_needed": next(
            (p.power_trowels for p in more_trowels if slab.safe_m3_h(p) >= line_m3_h), None
        ),
    }
    source = "finishing rates and set times of this plan"
    yield Finding(Severity.CAUTION, "finishing_limits_placing", facts, source)

"""Cutting the joints: from when the saw no longer ravels to when the slab would crack by itself.

Both ends depend on the saw and run with temperature. What comes out is a window to try a first cut
in, not a promise: the first check is a trial cut, and a ravelling edge means wait and try again.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from scheduling.engine.inputs import BadInput, Fact, Finding, Finishing, SawType, Section, Severity
from scheduling.engine.joints import JointLayout, cut_depth_m, joint_layout, widest_spacing_m
from scheduling.engine.setting import LABORATORY_ENERGY_J_MOL, SetTimes, arrhenius_factor

_INCH_M = 0.0254
_FOOT_M = 0.3048


@dataclass(frozen=True, slots=True)
class SawWindow:
    """Hours after finishing: a first try from `opens_h`, cut by `closes_h`."""

    opens_h: float
    closes_h: float


@dataclass(frozen=True, slots=True)
class SawPlan:
    """The cuts of every section and when to make them.

    `opens_at` is when to try the first cut, `last_call_at` when all must be cut. Where no joint is
    needed, `starts_at` and `ends_at` are None and nobody cuts.
    """

    layouts: tuple[JointLayout, ...]
    length_m: float
    depth_m: float
    opens_at: datetime
    last_call_at: datetime
    hours_needed: float
    people: int
    starts_at: datetime | None
    ends_at: datetime | None
    findings: tuple[Finding, ...]


# Hours after finishing in hot weather: an ordinary saw from 4 (ACI 302.1R-15: 4 to 12 h, hot to cold), an
# early-entry saw from 1 (ACI 224.4R-13: about 1 h hot, 4 h cold). In between the slab hardens at the pace
# of ASTM C1074 with 40 kJ/mol: that carries 4 h at 90 °F to 12 h at 54 °F and 1 h to 4 h at 46 °F.
HOT_C = (90 - 32) / 1.8
HOT_OPENS_H: Mapping[SawType, float] = {SawType.CONVENTIONAL: 4.0, SawType.EARLY_ENTRY: 1.0}
# An early-entry saw has until an ordinary one could start; an ordinary one twice the time to its start (our
# choice: 4 to 8 h hot, 7 to 14 h at 70 °F, inside CSA A23.1-94's 6 to 18 h).
CLOSES_TIMES: Mapping[SawType, float] = {SawType.CONVENTIONAL: 2.0, SawType.EARLY_ENTRY: 4.0}
LATEST_OPENS_H = 18.0  # CSA A23.1-94's end: by then somebody tries, however cold
LATEST_CLOSES_H = 24.0  # never later than a day (common practice, no source)

# Feet that one saw and one person cut in an 8 h day, green concrete, by depth in inches (published cost book,
# from memory); deeper than 2 in as much less as it is deeper (our choice).
FEET_A_DAY = ((1.0, 2000.0), (1.5, 1800.0), (2.0, 1600.0))


def saw_window(saw: SawType, air_c: float) -> SawWindow:
    """Return when to cut, in hours after finishing.

    Parameters
    ----------
    saw : SawType
    air_c : float
        Air at finishing, °C. Meant for 0 to 40 °C; over 32 °C the window comes no earlier.

    Returns
    -------
    SawWindow
        Conventional 4 to 8 h at 32 °C, 7 to 14 h at 21 °C, 18 to 24 h near freezing; early entry 1 to
        4 h, 1.8 to 7 h, 6 to 24 h. Sources stand at the top of this module.
    """
    pace = min(1.0, arrhenius_factor(air_c, HOT_C, LABORATORY_ENERGY_J_MOL))
    opens_h = HOT_OPENS_H[saw] / pace
    closes_h = min(opens_h * CLOSES_TIMES[saw], LATEST_CLOSES_H)
    return SawWindow(min(opens_h, LATEST_OPENS_H), closes_h)


def saw_rate_m_h(depth_m: float) -> float:
    """Return metres that one saw with one person cuts in an hour, `depth_m` deep in green concrete."""
    inches = depth_m / _INCH_M
    (shallow_in, most_ft), *_, (deep_in, least_ft) = FEET_A_DAY
    if inches > deep_in:
        feet_a_day = least_ft * deep_in / inches
    else:
        feet_a_day = most_ft + (least_ft - most_ft) * max(0.0, inches - shallow_in) / (deep_in - shallow_in)
    return feet_a_day * _FOOT_M / 8


def plan_sawing(
    sections: Sequence[Section],
    thickness_m: float,
    finishing: Finishing,
    first_finished_at: datetime,
    last_finished_at: datetime,
    first_set: SetTimes,
    last_set: SetTimes,
    air_c: float | None = None,
) -> SawPlan:
    """Lay out the joints and say when to cut them.

    Parameters
    ----------
    sections : sequence of Section
    thickness_m : float
        Slab thickness, m; sets spacing and depth of cut.
    finishing : Finishing
        Its saw and joint spacing. One saw, one person.
    first_finished_at, last_finished_at : datetime
        When the first and the last strip have had their last pass.
    first_set, last_set : SetTimes
        No strip is cut before it has likely set (final set, ASTM C403).
    air_c : float, optional
        Air at finishing, °C. None: the mean from placing to final set of the last strip.

    Returns
    -------
    SawPlan
        ``saw_short`` warns where one saw cannot cut in the window, ``joint_spacing_wide`` where the
        spacing asked for is over 36 thicknesses or 15 ft.

    Raises
    ------
    BadInput
        No section, thickness not positive, or the last strip finished before the first.
    """
    if not sections:
        raise BadInput("sections", "no_sections", "There must be a section to cut.")
    if last_finished_at < first_finished_at:
        raise BadInput(
            "last_finished_at", "empty_window", "The last strip must not be done before the first."
        )
    layouts = tuple(
        joint_layout(section.outline, thickness_m, finishing.saw, finishing.joint_spacing_m)
        for section in sections
    )
    length_m = math.fsum(layout.length_m for layout in layouts)
    depth_m = cut_depth_m(thickness_m, finishing.saw)
    hours_needed = length_m / saw_rate_m_h(depth_m)
    window = saw_window(finishing.saw, last_set.mean_air_c if air_c is None else air_c)
    opens_at = _opens_at(window, first_finished_at, first_set)
    last_opens_at = max(opens_at, _opens_at(window, last_finished_at, last_set))
    # Where concrete sets later than the window reckons, the last call moves with it.
    last_call_at = last_opens_at + timedelta(hours=window.closes_h - window.opens_h)
    # The last joints cannot be cut before the last strip is ready, however quick the saw.
    ends_at = max(opens_at + timedelta(hours=hours_needed), last_opens_at)
    return SawPlan(
        layouts=layouts,
        length_m=length_m,
        depth_m=depth_m,
        opens_at=opens_at,
        last_call_at=last_call_at,
        hours_needed=hours_needed,
        people=1,
        starts_at=opens_at if length_m else None,
        ends_at=ends_at if length_m else None,
        findings=(
            *_short_findings(length_m, hours_needed, opens_at, last_call_at),
            *_spacing_findings(thickness_m, finishing),
        ),
    )


def _opens_at(window: SawWindow, finished_at: datetime, strip: SetTimes) -> datetime:
    return max(finished_at + timedelta(hours=window.opens_h), strip.final.likely)


def _short_findings(
    length_m: float, hours_needed: float, opens_at: datetime, last_call_at: datetime
) -> tuple[Finding, ...]:
    window_h = (last_call_at - opens_at).total_seconds() / 3600
    if hours_needed <= window_h:
        return ()
    facts: dict[str, Fact] = {
        "length_m": length_m,
        "hours_needed": hours_needed,
        "window_h": window_h,
        "saws_needed": math.ceil(hours_needed / window_h),
        "last_call_at": last_call_at,
    }
    return (Finding(Severity.CAUTION, "saw_short", facts, "published cost book (from memory)"),)


def _spacing_findings(thickness_m: float, finishing: Finishing) -> tuple[Finding, ...]:
    asked_m, widest_m = finishing.joint_spacing_m, widest_spacing_m(thickness_m)
    if asked_m is None or asked_m <= widest_m * (1 + 1e-9):
        return ()
    facts: dict[str, Fact] = {"spacing_m": asked_m, "widest_m": widest_m}
    return (Finding(Severity.CAUTION, "joint_spacing_wide", facts, "ACI 302.1R: 24 to 36 thicknesses"),)

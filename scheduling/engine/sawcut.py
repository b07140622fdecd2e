"""Cutting the joints: from when the saw no longer ravels to when the slab would crack by itself.

Both ends depend on the saw and run with temperature, strip by strip. What comes out is a window to try
a first cut in, not a promise: the first check is a trial cut, and a ravelling edge means wait and try
again.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from scheduling.engine.finishing import StripWindows
from scheduling.engine.forecast import Forecast
from scheduling.engine.inputs import BadInput, Fact, Finding, Finishing, Mix, SawType, Section, Severity
from scheduling.engine.joints import JointLayout, cut_depth_m, joint_layout, widest_spacing_m
from scheduling.engine.ripening import Ripening
from scheduling.engine.setting import LABORATORY_ENERGY_J_MOL, REFERENCE_C, arrhenius_factor
from scheduling.engine.slabclock import HORIZON_H, SlabClock

_INCH_M = 0.0254
_FOOT_M = 0.3048
MOST_SAWS = 20

# Hours after finishing in hot weather: an ordinary saw from 4 (ACI 302.1R-15: 4 to 12 h, hot to cold), an
# early-entry saw from 1 (ACI 224.4R-13: about 1 h hot, 4 h cold). In between the slab hardens at the pace
# of ASTM C1074 with 40 kJ/mol by its own temperature: that carries 4 h in concrete of 90 °F to 12 h of 54 °F
# and 1 h to 4 h of 46 °F.
HOT_C = (90 - 32) / 1.8
HOT_OPENS_H: Mapping[SawType, float] = {saw: 1.0 if saw is SawType.EARLY_ENTRY else 4.0 for saw in SawType}
# An early-entry saw has until an ordinary one could start; an ordinary one twice the time to its start (our
# choice: 4 to 8 h hot, 7 to 14 h at 70 °F, inside CSA A23.1-94's 6 to 18 h).
CLOSES_TIMES: Mapping[SawType, float] = {saw: 4.0 if saw is SawType.EARLY_ENTRY else 2.0 for saw in SawType}
FOLLOWED_AGE_H = 36.0  # at 21.1 °C; finished 6 h after placing, in concrete of 40 °C the last call is at 35
LATEST_OPENS_H = 18.0  # CSA A23.1-94's end: by then somebody tries, however cold
LATEST_CLOSES_H = 24.0  # never later than a day (common practice, no source)

# The other view: the strength from which a sawn edge holds, MPa. An ordinary saw: 310 psi, the least of what
# FHWA-RD-91-079 (Okamoto and others, 1994) found for soft to hard stone, from memory. An early-entry saw:
# 100 psi, what concrete commonly has at final set, from memory.
EDGE_HOLDS_MPA: Mapping[SawType, float] = {saw: 0.7 if saw is SawType.EARLY_ENTRY else 2.1 for saw in SawType}
STRENGTH_PACE_DAY = 0.4  # of the hyperbola of ASTM C1074, per day at 21.1 °C, ordinary cement, from memory

RAVELLED_WAIT_H = (0.5, 1.0)  # mild and warm, cold

# Feet that one saw and one person cut in an 8 h day, green concrete, by depth in inches (published cost book,
# from memory); deeper than 2 in as much less as it is deeper (our choice). They are of ordinary stone: hard
# stone, as quartz, wears blades faster and is the crew's own to know.
FEET_A_DAY = ((1.0, 2000.0), (1.5, 1800.0), (2.0, 1600.0))


@dataclass(frozen=True, slots=True)
class SawWindow:
    """A first try from `opens_at`, cut by `closes_at`."""

    opens_at: datetime
    closes_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class StripCut:
    """When the joints of one strip may be cut, to the second.

    `number` is the strip's. A first try from `opens_at`, by hours after finishing; by strength the edge
    holds from `strong_at`; all cut by `last_call_at`, before cracks choose their own way. One saw is at it
    from `starts_at` to `ends_at`.
    """

    number: int
    opens_at: datetime
    strong_at: datetime
    last_call_at: datetime
    starts_at: datetime
    ends_at: datetime


@dataclass(frozen=True, slots=True)
class SawPlan:
    """The cuts of every section and when to make them.

    `opens_at` is when to try the first cut, `last_call_at` when all must be cut. Where no joint is
    needed, `starts_at` and `ends_at` are None and nobody cuts; `strips` then only say when one could.
    """

    layouts: tuple[JointLayout, ...]
    length_m: float
    depth_m: float
    strips: tuple[StripCut, ...]
    opens_at: datetime
    last_call_at: datetime
    hours_needed: float
    people: int
    starts_at: datetime | None
    ends_at: datetime | None
    findings: tuple[Finding, ...]


class SawClock:
    """What the ripening of a slab's strips means for one kind of saw.

    Parameters
    ----------
    saw : SawType
    mix : Mix
        Its strength.
    clock : SlabClock
        Strips are asked for by their place in it. Best followed to `FOLLOWED_AGE_H`.
    air : Forecast
        The weather it rests on.
    """

    def __init__(self, saw: SawType, mix: Mix, clock: SlabClock, air: Forecast) -> None:
        self.saw, self.mix = saw, mix
        self._hot = Ripening(clock, air, HOT_C, HORIZON_H, capped=True)
        self._mild = Ripening(clock, air, REFERENCE_C, HORIZON_H, capped=False)

    def window(self, strip: int, finished_at: datetime) -> SawWindow:
        """Return when to cut a strip by hours after its finishing.

        Conventional 4 to 8 h in concrete of 32 °C and over, 7 to 14 h of 21 °C, 18 to 24 h near freezing;
        early entry 1 to 4 h, 1.8 to 7 h, 6 to 24 h. Sources stand at the top of this module.
        """
        opens_h = self._hot.hours_until(strip, finished_at, HOT_OPENS_H[self.saw])
        closes_h = self._hot.hours_until(strip, finished_at, HOT_OPENS_H[self.saw] * CLOSES_TIMES[self.saw])
        return SawWindow(
            finished_at + timedelta(hours=min(opens_h, LATEST_OPENS_H)),
            finished_at + timedelta(hours=min(closes_h, LATEST_CLOSES_H)),
        )

    def strong_at(self, strip: int, hard_at: datetime) -> datetime:
        """Return when a strip's sawn edge holds by strength, `hard_at` being its final set.

        Strength grows from final set by ``S = S_u k t / (1 + k t)`` of equivalent age t, to the mix's own
        at 28 days (ASTM C1074).
        """
        final_mpa = self.mix.strength_mpa * (1 + 1 / (28 * STRENGTH_PACE_DAY))
        share = min(0.9, EDGE_HOLDS_MPA[self.saw] / final_mpa)
        return self._mild.reached_at(strip, hard_at, 24 * share / (1 - share) / STRENGTH_PACE_DAY)


def wait_after_ravelling(air_c: float | None) -> timedelta:
    """Return how long to wait after a trial cut that ravelled, to five minutes.

    Half an hour at 70 °F and over, and where the air is not known; longer in cold by ASTM C1074 at
    40 kJ/mol, but no more than an hour. Half an hour to an hour is common practice, no source.
    """
    pace = 1.0 if air_c is None else arrhenius_factor(air_c, REFERENCE_C, LABORATORY_ENERGY_J_MOL)
    least_h, most_h = RAVELLED_WAIT_H
    return timedelta(minutes=5 * round(12 * min(max(least_h, least_h / pace), most_h)))


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
    strips: Sequence[StripWindows],
    clock: SawClock,
) -> SawPlan:
    """Lay out the joints and say when to cut them, strip by strip as they ripen.

    Parameters
    ----------
    sections : sequence of Section
    thickness_m : float
        Slab thickness, m; sets spacing and depth of cut.
    finishing : Finishing
        Its joint spacing. One saw, one person.
    strips : sequence of StripWindows
        As finished. None is cut before it has likely set (final set, ASTM C403). Each has its share of
        the joints by area (our choice).
    clock : SawClock
        Of the saw and the slab, whose strips stand in it by their numbers.

    Returns
    -------
    SawPlan
        ``saw_short`` warns where one saw cannot cut every strip in its window, ``joint_spacing_wide``
        where the spacing asked for is over 36 thicknesses or 15 ft.

    Raises
    ------
    BadInput
        No section or strip, or thickness not positive.
    """
    if not sections or not strips:
        raise BadInput("sections", "no_sections", "There must be a section to cut.")
    layouts = tuple(
        joint_layout(section.outline, thickness_m, clock.saw, finishing.joint_spacing_m)
        for section in sections
    )
    length_m = math.fsum(layout.length_m for layout in layouts)
    depth_m = cut_depth_m(thickness_m, clock.saw)
    hours_needed = length_m / saw_rate_m_h(depth_m)
    ripe = _ripe(strips, clock)
    cuts = tuple(_cuts(ripe, hours_needed))
    return SawPlan(
        layouts=layouts,
        length_m=length_m,
        depth_m=depth_m,
        strips=cuts,
        opens_at=min(cut.opens_at for cut in cuts),
        last_call_at=max(cut.last_call_at for cut in cuts),
        hours_needed=hours_needed,
        people=1,
        starts_at=cuts[0].starts_at if length_m else None,
        ends_at=cuts[-1].ends_at if length_m else None,
        findings=(*_short_findings(length_m, hours_needed, ripe), *_spacing_findings(thickness_m, finishing)),
    )


@dataclass(frozen=True, slots=True)
class _Ripe:
    """A strip's window and its share of the joints."""

    number: int
    share: float
    window: SawWindow
    strong_at: datetime


def _ripe(strips: Sequence[StripWindows], clock: SawClock) -> list[_Ripe]:
    """The strips in the order the saw may go on them."""
    whole_m2 = math.fsum(strip.area_m2 for strip in strips)
    ripe = [
        _Ripe(
            strip.number,
            strip.area_m2 / whole_m2,
            _after(clock.window(strip.number, strip.finished_at), strip.hard_at),
            clock.strong_at(strip.number, strip.hard_at),
        )
        for strip in strips
    ]
    return sorted(ripe, key=lambda one: (one.window.opens_at, one.number))


def _after(window: SawWindow, hard_at: datetime) -> SawWindow:
    """The window, moved on as a whole where the concrete sets later than its hours reckon."""
    later = max(timedelta(0), hard_at - window.opens_at)
    return SawWindow(window.opens_at + later, window.closes_at + later)


def _cuts(ripe: Sequence[_Ripe], hours_needed: float) -> Iterator[StripCut]:
    free_at = ripe[0].window.opens_at
    for one in ripe:
        starts_at = max(free_at, one.window.opens_at)
        free_at = starts_at + timedelta(hours=hours_needed * one.share)
        moments = (one.window.opens_at, one.strong_at, one.window.closes_at, starts_at, free_at)
        opens_at, strong_at, closes_at, starts_at, ends_at = (at.replace(microsecond=0) for at in moments)
        yield StripCut(
            number=one.number,
            opens_at=opens_at,
            strong_at=strong_at,
            last_call_at=closes_at,
            starts_at=starts_at,
            ends_at=ends_at,
        )


# --- what to tell people ----------------------------------------------------------------------


def _short_findings(length_m: float, hours_needed: float, ripe: Sequence[_Ripe]) -> Iterator[Finding]:
    if _in_time(ripe, hours_needed):
        return
    last_call_at = max(one.window.closes_at for one in ripe)
    facts: dict[str, Fact] = {
        "length_m": length_m,
        "hours_needed": hours_needed,
        "window_h": (last_call_at - ripe[0].window.opens_at).total_seconds() / 3600,
        "saws_needed": next(
            (n for n in range(2, MOST_SAWS + 1) if _in_time(ripe, hours_needed / n)), MOST_SAWS
        ),
        "last_call_at": last_call_at,
    }
    yield Finding(Severity.CAUTION, "saw_short", facts, "published cost book (from memory)")


def _in_time(ripe: Sequence[_Ripe], hours_needed: float) -> bool:
    cuts = zip(ripe, _cuts(ripe, hours_needed), strict=True)
    return all(cut.ends_at <= one.window.closes_at for one, cut in cuts)


def _spacing_findings(thickness_m: float, finishing: Finishing) -> tuple[Finding, ...]:
    asked_m, widest_m = finishing.joint_spacing_m, widest_spacing_m(thickness_m)
    if asked_m is None or asked_m <= widest_m * (1 + 1e-9):
        return ()
    facts: dict[str, Fact] = {"spacing_m": asked_m, "widest_m": widest_m}
    return (Finding(Severity.CAUTION, "joint_spacing_wide", facts, "ACI 302.1R: 24 to 36 thicknesses"),)

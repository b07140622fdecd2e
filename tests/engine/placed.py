"""Strips of a slab that is placed evenly, for tests of what follows."""

from datetime import timedelta

from scheduling.engine.finishing import StripWindows
from scheduling.engine.setting import set_times
from scheduling.engine.strips import PlacedStrip


def strips_placed(area_m2, first_at, lag_h, count=8):
    """Equal strips, each placed in a moment, the last `lag_h` after the first; one where that is none."""
    count = count if lag_h else 1
    gap_h = lag_h / max(1, count - 1)
    moments = [first_at + timedelta(hours=gap_h * n) for n in range(count)]
    return [
        PlacedStrip(n, n, n, area_m2 / count, moment, moment) for n, moment in enumerate(moments, start=1)
    ]


def sets_of(strips, mix, forecast):
    return [set_times(mix, forecast, strip.middle_at) for strip in strips]


def finished_strip(sets, finished_at, number=1, area_m2=20.0):
    """A strip that has had its last pass at `finished_at`, whatever passes those were."""
    return StripWindows(
        number=number,
        first_bay=number,
        last_bay=number,
        area_m2=area_m2,
        placed_from_at=sets.placed_at,
        placed_at=sets.placed_at,
        ready_early_at=sets.float_ready.early,
        hard_at=sets.final.likely,
        finished_at=finished_at,
        lost=False,
        passes=(),
    )

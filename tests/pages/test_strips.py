from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from scheduling.pages.strips import (
    ON_PAGE_PERCENT,
    DayClock,
    Stretch,
    day_clock,
    next_day_words,
    strip,
    with_waits,
)

CHICAGO = ZoneInfo("America/Chicago")
DAY = date(2026, 9, 3)
SIX = datetime(2026, 9, 3, 11, 0, tzinfo=UTC)  # six in the morning in Kansas City


def stretch(kind, from_h, to_h):
    return Stretch(kind, SIX + timedelta(hours=from_h), SIX + timedelta(hours=to_h))


USUAL = [stretch("on_site", 0, 1), stretch("place", 1, 2.5), stretch("finish", 5, 9), stretch("cut", 11, 12)]


def drawn(stretches, clashes=(), clock=None, day=DAY):
    return strip(stretches, clashes, clock or DayClock(), day, CHICAGO, "us")


def test_bands_follow_the_order_of_work_with_the_waits_between():
    kinds = [band.kind for band in drawn(USUAL).bands]
    assert kinds == ["on_site", "place", "wait", "finish", "wait", "cut"]


def test_a_pause_of_less_than_five_minutes_is_no_wait():
    close = [stretch("place", 1, 2), stretch("finish", 2.05, 3)]
    assert [one.kind for one in with_waits(close)] == ["place", "finish"]


def test_a_band_lies_where_the_clock_says():
    on_site, place = drawn(USUAL).bands[:2]
    # The clock runs fourteen hours from five: six is one of them in, seven two.
    assert on_site.x == pytest.approx(100 / 14, abs=0.06)
    assert on_site.width == pytest.approx(100 / 14, abs=0.06)
    assert place.width == pytest.approx(150 / 14, abs=0.06)


def test_the_clock_widens_for_an_early_start_and_a_late_cut():
    spans = [(SIX - timedelta(hours=2, minutes=30), SIX + timedelta(hours=14, minutes=10), CHICAGO)]
    assert day_clock(spans) == DayClock(opens=3, hours=18)


def test_what_runs_past_midnight_is_cut_off_there_and_said_in_words():
    late = [*USUAL[:3], stretch("cut", 19, 20.5)]
    clock = day_clock([(late[0].starts_at, late[-1].ends_at, CHICAGO)])
    assert clock == DayClock(opens=5, hours=19)
    assert [band.kind for band in drawn(late, clock=clock).bands][-1] == "wait"
    assert next_day_words(late, DAY, CHICAGO, "us") == "cutting joints 1:00–2:30 am Fri"


def test_a_stretch_that_straddles_midnight_says_until_when():
    late = [*USUAL[:3], stretch("cut", 17, 19)]
    assert next_day_words(late, DAY, CHICAGO, "us") == "cutting joints until 1:00 am Fri"


def test_on_the_day_the_clocks_go_back_hours_are_real_hours():
    # America/Chicago, 1 November 2026 (IANA time zone database): midnight to six lasts seven hours.
    day = date(2026, 11, 1)
    six = datetime(2026, 11, 1, 12, 0, tzinfo=UTC)
    assert DayClock(opens=0, hours=24).percent(six, day, CHICAGO) == pytest.approx(100 * 7 / 24, abs=0.06)


def test_labels_never_lie_on_each_other():
    for shift in range(0, 40, 3):
        crowded = [
            stretch("on_site", 0, 0.4),
            stretch("place", 0.4, 0.8),
            stretch("finish", 1 + shift / 20, 2 + shift / 20),
            stretch("cut", 2.2 + shift / 20, 2.5 + shift / 20),
        ]
        for lane in (0, 1):
            labels = [b for b in drawn(crowded).bands if b.label and b.lane == lane]
            ends = [b.label_x + ON_PAGE_PERCENT * len(b.label) for b in labels]
            assert all(end <= after.label_x for end, after in zip(ends, labels[1:], strict=False))


def test_a_label_at_the_edge_is_written_leftwards():
    cut = drawn([stretch("place", 1, 2), stretch("cut", 12.6, 12.9)]).bands[-1]
    assert (cut.label_x, cut.anchor) == (100.0, "end")


def test_clashes_as_long_as_each_other_are_drawn_once():
    span = (SIX, SIX + timedelta(hours=2))
    assert len(drawn(USUAL, [span, span]).clashes) == 1


def test_the_strip_says_everything_it_draws():
    said = drawn(USUAL).said
    assert said.startswith("on site 6:00–7:00 am; placing 7:00–8:30 am; waiting for the slab 8:30–11:00 am;")
    assert said.endswith("cutting joints 5:00–6:00 pm")

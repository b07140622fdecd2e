"""The text that says what new weather changed, and nothing else."""

from dataclasses import replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from scheduling.sentences.arrivals import Arrivals
from scheduling.texting.cautions import CAUTIONS, Caution
from scheduling.texting.changes import MOST_SEGMENTS, Changed, change_text
from scheduling.texting.segments import segments
from scheduling.texting.wording import PourFacts

ZONE = ZoneInfo("America/Chicago")
DAY = datetime(2026, 8, 28, 7, 0, tzinfo=ZONE)
HOUR = timedelta(hours=1)

BEFORE = PourFacts(
    site="Mill Rd garage",
    address="14 Mill Rd, Olathe",
    starts_at=DAY,
    call_at=DAY - HOUR,
    arrivals=Arrivals(loads=4, next_after_min=20, interval_min=20),
    floats_from_at=DAY + 4.5 * HOUR,
    cut_from_at=DAY + 8 * HOUR,
    cut_until_at=DAY + 14 * HOUR,
)
AFTER = replace(
    BEFORE,
    arrivals=Arrivals(loads=4, next_after_min=25, interval_min=25),
    floats_from_at=DAY + 6 * HOUR,
    cut_from_at=DAY + 10 * HOUR,
    cut_until_at=DAY + 17.25 * HOUR,
)


def told(after=AFTER, **changed) -> str:
    return change_text(BEFORE, after, Changed(**changed))


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"floats": True}, "Mill Rd garage: new weather. Trowel from 1pm (was 11:30am)."),
        ({"cuts": True}, "Mill Rd garage: new weather. Cut 5pm-Sat 12:15am (was 3pm-9pm)."),
        ({"trucks": True}, "Mill Rd garage: new weather. Trucks now: 4 loads from 7am, every 25 min."),
        (
            {"begun": (Caution(code="rain", from_at=DAY + 2 * HOUR, until_at=DAY + 4 * HOUR),)},
            "Mill Rd garage: new weather. Rain 9am-11am: sheets at hand.",
        ),
        ({"gone": (Caution(code="thunder"),)}, "Mill Rd garage: new weather. No longer: thunder."),
    ],
)
def test_only_what_changed_is_said(changed, said):
    assert told(**changed) == said


def test_a_danger_comes_first_and_what_is_over_last():
    text = told(floats=True, begun=(Caution(code="boom_wind", is_stop=True),), gone=(Caution(code="rain"),))
    assert text == (
        "Mill Rd garage: new weather. STOP, call the office: too windy for the boom. "
        "Trowel from 1pm (was 11:30am). No longer: rain: sheets at hand."
    )


def test_what_a_crew_need_not_know_makes_no_text():
    assert told() == ""
    assert told(begun=(Caution(code="weather_unknown"),)) == ""


def test_a_time_there_was_not_before_stands_alone():
    before = replace(BEFORE, floats_from_at=None, cut_from_at=None)
    text = change_text(before, AFTER, Changed(floats=True, cuts=True))
    assert text.endswith("Trowel from 1pm. Cut 5pm-Sat 12:15am.")


def test_everything_at_once_is_as_much_as_three_segments_hold():
    every = tuple(Caution(code=code, figure="4") for code in CAUTIONS)
    text = told(floats=True, cuts=True, trucks=True, begun=every, gone=every)
    assert segments(text) <= MOST_SEGMENTS
    assert "Trowel from 1pm" in text

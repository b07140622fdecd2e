"""What of a plan stands beside the form, and what is folded away."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from scheduling.pages.brief import clock_after
from scheduling.pages.plans import FindingWords
from scheduling.pages.sketch import Sketch
from scheduling.pages.wording import Words


@pytest.mark.parametrize(
    ("stops", "cautions", "shown", "folded"),
    [(0, 3, 3, 0), (0, 4, 4, 0), (0, 5, 3, 2), (1, 6, 3, 4), (5, 0, 5, 0), (5, 3, 5, 3)],
)
def test_what_stops_a_pour_is_never_folded_away_and_long_cautions_are(stops, cautions, shown, folded):
    severities = ["stop"] * stops + ["caution"] * cautions
    sketched = Sketch("", findings=tuple(FindingWords(one, "", "") for one in severities))
    assert (len(sketched.first_findings), len(sketched.more_findings)) == (shown, folded)
    assert sketched.first_findings + sketched.more_findings == sketched.findings
    assert all(finding.severity == "caution" for finding in sketched.more_findings)


@pytest.mark.parametrize(("after_h", "said"), [(12, "7:00 pm"), (16, "11:00 pm"), (20, "3:00 am Fri")])
def test_a_time_names_its_day_only_where_that_is_not_the_days_own(after_h, said):
    starts_at = datetime(2026, 9, 3, 12, 0, tzinfo=UTC)  # seven on a Thursday in Kansas City
    zone = ZoneInfo("America/Chicago")
    at = starts_at + timedelta(hours=after_h)
    assert clock_after(at, starts_at, zone, Words("us", zone)) == said

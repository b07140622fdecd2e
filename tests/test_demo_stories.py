"""The demo's cold day, hot windy day and rainy day each tell their own story, in the plan and in the text."""

import pytest

from scheduling.bridge import from_json
from scheduling.engine.dayplan import PourPlan
from scheduling.management.demo import company, printing
from scheduling.management.demo.daylines import day_lines
from scheduling.models import ReminderKind, User
from scheduling.quantities import UnitSystem
from scheduling.roles import Role
from scheduling.services import briefing, morning
from tests.factories import NOW
from tests.pages.reading import text_of

pytestmark = [pytest.mark.django_db, pytest.mark.slow]


def story(pour):
    """Its findings, the lines of its day, and the lead's text of that day."""
    plan, zone = from_json(pour.plan.result, PourPlan), briefing.site_zone(pour)
    lines = {line[:9].strip(): line for line in day_lines(plan, zone, UnitSystem.US)}
    text = morning.compose(lead=pour.crew.lead, day=pour.starts_at.astimezone(zone).date())
    return {finding.code for finding in plan.findings}, lines, text


def test_each_day_tells_its_own_story():
    monday = company.make_company(NOW)
    cold, rainy = company.told_pours(monday)
    hot = company.shown_pour(monday)

    codes, lines, text = story(cold)
    assert {"cold_weather", "frost", "base_may_freeze", "cold_placing", "cold_protection"} <= codes
    assert not {"rain", "evaporation_high", "heat_illness"} & codes
    assert "lankets" in text

    codes, lines, text = story(hot)
    assert {"evaporation_high", "heat_illness"} <= codes
    assert not {"rain", "frost", "cold_weather"} & codes
    assert "!" in lines["Drying"]
    assert "Heat" in text

    codes, lines, text = story(rainy)
    assert {"rain", "thunder"} <= codes
    assert "evaporation_high" not in codes
    assert "80" in lines["Rain %"]
    assert "Rain 9am" in text

    for pour in (cold, hot, rainy):
        assert pour.reminders.filter(kind=ReminderKind.EVENING).exists()


def test_the_lines_have_a_column_for_every_hour_and_fit_a_terminal():
    monday = company.make_company(NOW)
    _, lines, _ = story(company.shown_pour(monday))
    assert lines["Hour"].split()[1] == "06*"
    assert "P" in lines["Work"]
    assert lines["Trucks"].split()[1].startswith("1")
    assert max(len(line) for line in lines.values()) <= 100


def test_the_pages_of_the_three_days_and_the_terminal_say_what_governs(client, capsys):
    monday = company.make_company(NOW)
    client.force_login(User.objects.filter(role=Role.OFFICE).first())
    cold, rainy = company.told_pours(monday)
    hot = company.shown_pour(monday)
    words = {
        cold: "frozen ground",
        hot: "dries",
        rainy: "Rain",
    }
    for pour, said in words.items():
        text = text_of(client.get(f"/pours/{pour.pk}/"))
        assert said in text, pour
        assert "Local codes and the engineer’s specification govern" in text
    printing.print_story(rainy)
    assert "Local codes and the engineer's specification govern" in capsys.readouterr().out

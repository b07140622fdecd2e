# ruff: noqa: F811 (fixtures of another module)
"""What the morning text says: of the plan, what to load, the crew, the clocks, and the link at its end."""

from datetime import timedelta

import pytest
from django.utils.translation import get_language

from scheduling.models import DayLink
from scheduling.services import briefing, daylinks, morning
from scheduling.texting.segments import segments
from tests import factories
from tests.services.test_morning import CALL_630, FRIDAY, TEXT_AT, crew, planned, texts  # noqa: F401

pytestmark = pytest.mark.django_db


def test_composing_writes_nothing(crew):
    planned(crew)
    assert "Be there 6:30am." in morning.compose(lead=crew.lead, day=FRIDAY)
    assert morning.compose(lead=crew.lead, day=FRIDAY - timedelta(days=1)) is None
    assert texts() == []


def test_the_text_tells_what_the_plan_knows(crew):
    site = factories.site(name="Mill Rd garage", address="14 Mill Rd, Olathe", trucks_must_back=True)
    factories.forecast(site, factories.mild_hours(air_c=20.0, wind_10m_m_s=3.0))
    plant = factories.plant(name="Hilltop")
    planned(
        crew,
        site=site,
        mix=factories.mix(plant=plant, code="4000AE"),
        method="extended_chute",
        sections=[{"length_m": 16.0, "width_m": 12.0, "depth_m": 0.1}],
    )
    lines = morning.compose(lead=crew.lead, day=FRIDAY).splitlines()
    assert lines[0] == "Fri Aug 28: Mill Rd garage, 14 Mill Rd, Olathe"
    assert lines[1].startswith("Be there 6:30am. 3 loads: first 7:30am, next ")
    assert lines[2] == "26.5 yd3 4000AE, Hilltop."
    assert lines[3].startswith("Trowel from ")
    assert "68 F, wind 7 mph." in lines
    assert "No truck backs until you name a spotter, not the chute hand." in lines
    assert "Crew: Abel, Bo, Cruz, Dee, Eli, Fay." in lines
    assert lines[-1].startswith("Load: extension chute, power trowel, trowels, saw + water, rubber boots")
    assert segments("\n".join(lines)) <= 3


def test_the_text_names_who_guides_trucks_that_back(crew):
    planned(crew, site=factories.site(trucks_must_back=True), spotter="Cruz")
    text = morning.compose(lead=crew.lead, day=FRIDAY)
    assert "Spotter for backing trucks: Cruz, not on the chute." in text
    assert "No truck backs" not in text


def test_blankets_that_are_to_go_on_are_loaded(crew):
    planned(crew, blankets=True)
    assert "blankets" in morning.compose(lead=crew.lead, day=FRIDAY).splitlines()[-1]


@pytest.mark.parametrize(
    ("method", "kit"),
    [("barrow", "barrows + planks"), ("power_buggy", "power buggy"), ("line_pump", "pump primer")],
)
def test_what_brings_the_concrete_is_loaded(crew, method, kit):
    planned(crew, method=method)
    assert kit in morning.compose(lead=crew.lead, day=FRIDAY).splitlines()[-1]


def test_a_metric_company_is_told_in_metric(crew):
    factories.company(units="metric")
    site = factories.site()
    factories.forecast(site, factories.mild_hours(air_c=20.0, wind_10m_m_s=5.0))
    planned(crew, site=site)
    text = morning.compose(lead=crew.lead, day=FRIDAY)
    assert " m3 " in text
    assert "20 C, wind 18 km/h." in text


def test_a_plant_across_the_zone_line_is_told_on_its_own_clock(crew):
    # Site in New York, plant in Chicago (tz database): 8:30 EDT is 7:30 CDT.
    plant = factories.plant(name="Hilltop", time_zone="America/Chicago")
    planned(crew, site=factories.site(time_zone="America/New_York"), mix=factories.mix(plant=plant))
    text = morning.compose(lead=crew.lead, day=FRIDAY)
    assert "from 8:30am EDT" in text or "Truck 8:30am EDT" in text
    assert ", Hilltop (7:30am CDT)." in text


def test_without_a_forecast_the_text_says_that_the_times_are_for_a_mild_day(crew):
    planned(crew)
    text = morning.compose(lead=crew.lead, day=FRIDAY)
    assert "No forecast: float and cut times are for a mild day." in text


def test_a_pour_without_a_plan_is_still_told_of(crew):
    factories.pour(crew=crew, starts_at=CALL_630)
    morning.write_due(now=TEXT_AT)
    assert "Be there 6:30am. First truck 7:30am." in texts()[0].body


def test_rain_puts_sheets_and_dry_clothes_on_the_truck(crew):
    site = factories.site()
    factories.forecast(site, factories.mild_hours(rain_chance=0.7, rain_mm=2.0))
    planned(crew, site=site)
    text = morning.compose(lead=crew.lead, day=FRIDAY)
    assert "Load: sheets, " in text
    assert "dry clothes" in text
    assert "Rain " in text


@pytest.mark.parametrize(("indoors", "told"), [(False, False), (True, True)])
def test_sawing_under_a_roof_needs_respirators(crew, indoors, told):
    # OSHA 29 CFR 1926.1153 Table 1 (from memory)
    planned(crew, indoors=indoors)
    assert ("respirators" in morning.compose(lead=crew.lead, day=FRIDAY)) is told


def test_people_who_share_a_first_name_are_told_apart(crew):
    names = ["Bo Ek", "Bo Arden", "Cruz Diaz"]
    for worker, name in zip(crew.workers.order_by("pk"), names, strict=False):
        worker.name = name
        worker.save()
    assert {"Bo Ek", "Bo Arden", "Cruz"} <= set(briefing.first_names(crew))


def test_the_lead_is_not_told_of_themselves(crew):
    worker = crew.workers.first()
    worker.user = crew.lead
    worker.save()
    assert worker.name not in briefing.first_names(crew)


def test_the_text_is_in_the_language_its_reader_chose(crew):
    planned(crew)
    crew.lead.language = "es"
    crew.lead.save()
    morning.write_due(now=TEXT_AT)
    (text,) = texts()
    assert text.language == "es"
    assert text.body.startswith("Vie 28 ago: ")
    assert "Lleguen a las 6:30am." in text.body
    assert get_language() == "en"


def test_the_text_ends_with_the_link_to_the_leads_day_where_a_phone_gets_there(crew, settings):
    planned(crew)
    assert "http" not in morning.compose(lead=crew.lead, day=FRIDAY)
    settings.PUBLIC_URL = "https://pours.example"
    draft = morning.compose(lead=crew.lead, day=FRIDAY)
    assert not DayLink.objects.exists()  # a look at a draft makes none
    assert morning.write_due(now=TEXT_AT) == 1
    (text,) = texts()
    assert text.body.splitlines()[-1] == daylinks.address(daylinks.token_of(DayLink.objects.get()))
    assert len(text.body) == len(draft)

"""The main job from booking to the morning text: what the office books is what the crew lead reads."""

from datetime import UTC, datetime, timedelta

import pytest

from scheduling.engine.inputs import WeatherHour
from scheduling.models import Message, MessageState
from scheduling.quantities import Dimension, parse
from scheduling.services import booking, morning, ordering, outbox, planning, reminders
from tests import factories

pytestmark = pytest.mark.django_db

THURSDAY_SEVEN = datetime(2026, 9, 3, 12, 0, tzinfo=UTC)  # on the site's clock in Chicago's zone
MONDAY = THURSDAY_SEVEN - timedelta(days=3)


def hours():
    """A warm September day without rain, the same around the clock."""
    start = THURSDAY_SEVEN - timedelta(hours=12)
    return tuple(
        WeatherHour(
            at=start + timedelta(hours=n),
            air_c=22.0,
            humidity=0.5,
            wind_10m_m_s=3.0,
            rain_chance=0.0,
            rain_mm=0.0,
        )
        for n in range(72)
    )


@pytest.fixture
def pour():
    factories.company()
    crew = factories.crew(people=5)
    mix = factories.mix(code="4000-75-WR", admixtures=["water_reducer"])
    job = factories.job()
    factories.forecast(job.site, hours())
    return booking.book_pour(
        job=job,
        sections=[
            {
                "shape": "rectangle",
                "length_m": parse("52'", Dimension.LENGTH),
                "width_m": parse("38'", Dimension.LENGTH),
                "depth_kind": "falling_base",
                "depth_m": parse("5 in", Dimension.DEPTH),
                "fall_m": parse("2 in", Dimension.DEPTH),
            }
        ],
        starts_at=THURSDAY_SEVEN,
        plant=mix.plant,
        mix=mix,
        crew=crew,
        people=5,
        method="chute",
        by=factories.user(),
        now=MONDAY,
    )


def test_the_slab_takes_its_area_times_its_thickness(pour):
    """Volume in cubic yards is square feet times inches over 324 (arithmetic of the units)."""
    net_yd3 = 52 * 38 * 5 / 324
    assert pour.plan.result["quantity"]["net_m3"] / 0.764554858 == pytest.approx(net_yd3)
    assert pour.plan.order_m3 / 0.764554858 == pytest.approx(32.25)  # 5 % more, in quarter yards


def test_the_plan_answers_everything_the_office_asked(pour):
    result = pour.plan.result
    assert result["line"]["limited_by"] in {"unload", "rake", "strike_off", "bull_float"}
    assert result["spacing"]["trucks_needed"] >= 2
    assert len(result["delivery"]["loads"]) == pour.plan.loads
    assert all(hour["rate_kg_m2_h"] is not None for hour in result["weather"])
    assert result["first_set"]["float_ready"]["likely"] > pour.plan.starts_at.isoformat()
    assert result["sawing"]["opens_at"] > result["finishing"]["ends_at"]
    assert pour.orders.get().order_by == datetime(2026, 9, 2, 20, 0, tzinfo=UTC)  # Wednesday at three


def test_the_crew_lead_gets_one_text_at_half_past_five_on_thursday(pour):
    start = THURSDAY_SEVEN.replace(hour=0)
    for minute in range(0, 24 * 60, 10):
        now = start + timedelta(minutes=minute)
        morning.write_due(now=now)
        outbox.send_due(now=now)
    texts = Message.objects.filter(kind="morning")
    (text,) = texts
    assert text.recipient == pour.crew.lead
    minute = text.sent_at.replace(second=0, microsecond=0)
    assert minute == datetime(2026, 9, 3, 10, 30, tzinfo=UTC)  # 05:30 on the site's clock
    assert text.state == MessageState.SENT
    assert pour.job.site.address in text.body


def test_a_move_takes_everything_along(pour):
    by = factories.user()
    ordering.call_in(order=pour.orders.get(), taken_by="Gert", by=by, now=MONDAY)
    friday = THURSDAY_SEVEN + timedelta(days=1)
    before = dict(pour.reminders.values_list("kind", "due_at"))
    moved = booking.move_pour(pour=pour, version=1, starts_at=friday, by=by, now=MONDAY)
    after = dict(moved.reminders.values_list("kind", "due_at"))
    assert all(after[kind] - due_at > timedelta(hours=22) for kind, due_at in before.items())
    assert ordering.standing_order(moved).first_on_site_at == friday
    assert set(moved.reminders.values_list("pour_version", flat=True)) == {2}


def test_what_is_due_goes_out_once_however_often_the_clock_asks(pour):
    due = pour.reminders.get(kind="order").due_at
    for _ in range(3):
        reminders.send_due(now=due)
    assert Message.objects.filter(kind="reminder").count() == 1


def test_a_preview_stores_nothing_and_says_what_the_booking_says(pour):
    section = {
        "length_m": 15.8496,
        "width_m": 11.5824,
        "depth_kind": "falling_base",
        "depth_m": 0.127,
        "fall_m": 0.0508,
    }
    asked = type(pour)(job=pour.job, plant=pour.plant, mix=pour.mix, crew=pour.crew, starts_at=pour.starts_at)
    answer = planning.preview_pour(pour=asked, sections=[section], now=pour.plan.made_at)
    assert answer["quantity"]["order_m3"] == pytest.approx(pour.plan.order_m3)
    assert type(pour).objects.count() == 1

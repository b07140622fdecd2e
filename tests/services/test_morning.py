"""One text a day for each crew lead, at the company's hour on the site's own clock."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from scheduling.models import DayLink, Message, MessageState, Pour, PourState
from scheduling.services import briefing, morning, outbox
from tests import factories
from tests.factories import STARTS_AT

pytestmark = pytest.mark.django_db

MINUTE = timedelta(minutes=1)
FRIDAY = date(2026, 8, 28)
# With the usual hour before the first truck, the crew must be there at half past six on the site's own clock.
CALL_630 = STARTS_AT + timedelta(minutes=30)
TEXT_AT = datetime(2026, 8, 28, 10, 30, tzinfo=UTC)  # 5:30 in Olathe


@pytest.fixture
def crew():
    factories.company()
    return factories.crew()


def planned(crew, *, starts_at=CALL_630, **columns):
    pour = factories.pour(crew=crew, starts_at=starts_at, **columns)
    factories.plan(pour)
    return pour


def change(pour, **columns):
    """As a service changes it: with a new version and a new plan."""
    for name, value in columns.items():
        setattr(pour, name, value)
    pour.version += 1
    pour.save()
    factories.plan(pour)


def texts():
    return list(Message.objects.filter(kind="morning").order_by("pk"))


def test_the_text_is_written_at_the_companys_hour_and_not_before(crew):
    planned(crew)
    assert morning.write_due(now=TEXT_AT - MINUTE) == 0
    assert morning.write_due(now=TEXT_AT) == 1
    (text,) = texts()
    assert (text.recipient, text.due_at) == (crew.lead, TEXT_AT)
    assert text.useful_until == Message.objects.get().about.get().pour.plan.placed_at


@pytest.mark.parametrize(
    ("starts_at", "text_at"),
    [
        (STARTS_AT, TEXT_AT),  # called at six: the company's half past five is half an hour before
        (STARTS_AT - 10 * MINUTE, TEXT_AT - 10 * MINUTE),
        (STARTS_AT - timedelta(minutes=90), TEXT_AT - timedelta(minutes=90)),
    ],
)
def test_a_crew_called_early_hears_half_an_hour_before_its_call(crew, starts_at, text_at):
    planned(crew, starts_at=starts_at)
    assert morning.write_due(now=text_at - MINUTE) == 0
    assert morning.write_due(now=text_at) == 1


def test_a_text_is_not_written_when_the_first_pour_is_over(crew):
    pour = planned(crew)
    assert morning.write_due(now=pour.plan.placed_at) == 0
    assert morning.write_due(now=pour.plan.placed_at - MINUTE) == 1


def test_a_pour_booked_during_the_day_is_told_of_at_once(crew):
    planned(crew, starts_at=STARTS_AT + timedelta(hours=8))
    assert morning.write_due(now=STARTS_AT + timedelta(hours=4)) == 1


@pytest.mark.slow
@pytest.mark.parametrize(
    ("days", "hour_utc"),
    [
        # 5:30 in New York: standard time until 2026-03-08, summer time until 2026-11-01 (tz database).
        ([date(2026, 3, 7), date(2026, 3, 8), date(2026, 3, 9)], [10, 9, 9]),
        ([date(2026, 10, 31), date(2026, 11, 1), date(2026, 11, 2)], [9, 10, 10]),
    ],
)
def test_a_task_run_all_day_over_a_clock_change_writes_one_text_a_day(crew, days, hour_utc):
    zone = ZoneInfo("America/New_York")
    site = factories.site(time_zone=zone.key)
    for day in days:
        planned(crew, site=site, starts_at=datetime.combine(day, datetime.min.time(), zone).replace(hour=9))
    start = datetime.combine(days[0], datetime.min.time(), UTC)
    minutes = [start + minute * MINUTE for minute in range(3 * 24 * 60)]
    # Every minute from three to eight on either clock; the rest of the day by the hour, to be quick.
    for now in (now for now in minutes if 8 <= now.hour < 12 or now.minute == 0):
        if morning.write_due(now=now):
            outbox.send_due(now=now)
    written = [text.made_at for text in texts()]
    assert written == [
        datetime.combine(day, datetime.min.time(), UTC).replace(hour=hour, minute=30)
        for day, hour in zip(days, hour_utc, strict=True)
    ]
    assert [moment.astimezone(zone).strftime("%H:%M") for moment in written] == ["05:30"] * 3
    assert {text.state for text in texts()} == {MessageState.SENT}


def test_one_text_speaks_of_all_pours_of_the_day_in_order(crew):
    later = planned(crew, starts_at=STARTS_AT + timedelta(hours=6), site=factories.site(name="Depot"))
    first = planned(crew, site=factories.site(name="Barn"))
    planned(crew, starts_at=STARTS_AT + timedelta(days=1))
    morning.write_due(now=TEXT_AT)
    (text,) = texts()
    assert text.body.startswith("Fri Aug 28: 2 pours\n1. Barn, ")
    assert "2. Depot, " in text.body
    assert set(text.about.values_list("pour", flat=True)) == {first.pk, later.pk}


def test_each_lead_hears_of_their_own_pours(crew):
    other = factories.crew()
    planned(crew, site=factories.site(name="Barn"))
    planned(other, site=factories.site(name="Depot"))
    assert morning.write_due(now=TEXT_AT) == 2
    assert {text.recipient: "Barn" in text.body for text in texts()} == {crew.lead: True, other.lead: False}


def test_a_crew_without_a_lead_and_a_pour_without_a_crew_get_no_text(crew):
    planned(factories.crew(lead=None))
    planned(None)
    assert morning.write_due(now=TEXT_AT) == 0


def test_cancelled_and_placed_pours_are_not_told_of(crew):
    planned(crew, state=PourState.CANCELLED)
    planned(crew, state=PourState.PLACED)
    assert morning.write_due(now=TEXT_AT) == 0


def test_a_pour_on_hold_says_do_not_go(crew):
    planned(crew, state=PourState.ON_HOLD, site=factories.site(name="Pool deck"))
    morning.write_due(now=TEXT_AT)
    (text,) = texts()
    assert "ON HOLD, do not go: Pool deck" in text.body
    assert "loads" not in text.body


def test_one_lead_whose_pour_cannot_be_told_never_stops_the_next(crew, monkeypatch):
    bad, good = planned(crew), planned(factories.crew())
    tell = briefing.pour_facts

    def broken(pour, company):
        if pour.pk == bad.pk:
            raise RuntimeError("the plan cannot be read")
        return tell(pour, company)

    monkeypatch.setattr(briefing, "pour_facts", broken)
    assert morning.write_due(now=TEXT_AT) == 1
    assert texts()[0].recipient == good.crew.lead


def test_writing_the_same_task_three_times_writes_one_text(crew):
    planned(crew)
    assert [morning.write_due(now=TEXT_AT) for _ in range(3)] == [1, 0, 0]


def test_a_pour_moved_before_the_text_went_out_is_told_of_anew_and_only_so(crew, capsys):
    pour = planned(crew)
    morning.write_due(now=TEXT_AT)
    change(pour, starts_at=pour.starts_at + timedelta(hours=2))
    morning.write_due(now=TEXT_AT + MINUTE)
    assert outbox.send_due(now=TEXT_AT + 2 * MINUTE) == 1
    assert [text.state for text in texts()] == [MessageState.EXPIRED, MessageState.SENT]
    assert "loads from 9:30am" in capsys.readouterr().out


def test_a_pour_moved_and_sent_before_the_text_is_written_anew_is_dropped_and_then_told(crew):
    pour = planned(crew)
    morning.write_due(now=TEXT_AT)
    change(pour, starts_at=pour.starts_at + timedelta(hours=2))
    assert outbox.send_due(now=TEXT_AT + MINUTE) == 0
    assert texts()[0].reason == "the pour changed since"
    morning.write_due(now=TEXT_AT + MINUTE)
    assert outbox.send_due(now=TEXT_AT + MINUTE) == 1
    assert "from 9:30am" in texts()[1].body


def test_a_pour_added_and_taken_away_again_before_the_text_goes_out_leaves_one_right_text(crew):
    planned(crew, site=factories.site(name="Barn"))
    morning.write_due(now=TEXT_AT)
    added = planned(crew, site=factories.site(name="Depot"), starts_at=STARTS_AT + timedelta(hours=6))
    morning.write_due(now=TEXT_AT)
    added.state = PourState.CANCELLED
    added.version += 1
    added.save()
    morning.write_due(now=TEXT_AT)
    assert outbox.send_due(now=TEXT_AT) == 1
    assert [text.state for text in texts()] == [
        MessageState.EXPIRED,
        MessageState.EXPIRED,
        MessageState.SENT,
    ]
    assert "Depot" not in texts()[-1].body


@pytest.mark.parametrize(
    "state", [MessageState.SENDING, MessageState.SENT, MessageState.DELIVERED, MessageState.UNKNOWN]
)
def test_no_second_text_is_written_once_one_has_gone_out(crew, state):
    pour = planned(crew)
    morning.write_due(now=TEXT_AT)
    Message.objects.update(state=state)
    change(pour, starts_at=pour.starts_at + timedelta(hours=2))
    assert morning.write_due(now=TEXT_AT + MINUTE) == 0


def test_a_text_that_could_not_be_sent_is_not_written_again_until_the_pour_changes(crew):
    pour = planned(crew)
    crew.lead.phone = ""
    crew.lead.save()
    morning.write_due(now=TEXT_AT)
    outbox.send_due(now=TEXT_AT)
    assert morning.write_due(now=TEXT_AT + MINUTE) == 0
    change(pour, people=6)
    assert morning.write_due(now=TEXT_AT + MINUTE) == 1


def test_a_lead_who_wants_no_texts_is_not_sent_one_the_next_morning_either(crew, capsys):
    crew.lead.texts_stopped_at = TEXT_AT - timedelta(days=1)
    crew.lead.save()
    planned(crew)
    planned(crew, starts_at=CALL_630 + timedelta(days=1))
    for day in range(2):
        morning.write_due(now=TEXT_AT + timedelta(days=day))
        outbox.send_due(now=TEXT_AT + timedelta(days=day))
    assert [text.state for text in texts()] == [MessageState.WITHHELD, MessageState.WITHHELD]
    assert "text to" not in capsys.readouterr().out


def test_without_a_company_nothing_is_written():
    assert morning.write_due(now=TEXT_AT) == 0


def test_looking_for_what_is_due_does_not_read_the_long_answers(crew, django_assert_max_num_queries):
    for _ in range(5):
        planned(factories.crew())
    with django_assert_max_num_queries(2) as asked:
        morning.write_due(now=TEXT_AT - timedelta(hours=3))
    assert not any('"result"' in query["sql"] for query in asked.captured_queries)


@pytest.mark.parametrize("before_seven", [2, 4, 6])
def test_a_crew_called_in_the_night_is_told_the_evening_before_and_not_woken(crew, before_seven):
    # First truck at five, three or one; half an hour before the call nobody is awake.
    planned(crew, starts_at=STARTS_AT - timedelta(hours=before_seven))
    evening = datetime(2026, 8, 27, 21, 30, tzinfo=UTC)  # half past four on Thursday afternoon
    assert morning.write_due(now=evening - MINUTE) == 0
    assert morning.write_due(now=evening) == 1
    (text,) = texts()
    assert text.body.startswith("Fri Aug 28: ")
    assert morning.write_due(now=TEXT_AT) == 0


def test_a_night_pour_booked_late_in_the_evening_is_told_of_at_once(crew):
    planned(crew, starts_at=STARTS_AT - timedelta(hours=5))
    assert morning.write_due(now=datetime(2026, 8, 28, 2, 0, tzinfo=UTC)) == 1


def test_a_text_written_again_holds_the_same_link(crew, settings):
    settings.PUBLIC_URL = "https://pours.example"
    planned(crew)
    morning.write_due(now=TEXT_AT)
    change(Pour.objects.get())
    assert morning.write_due(now=TEXT_AT) == 1
    assert len({text.body.splitlines()[-1] for text in texts()}) == 1
    assert DayLink.objects.count() == 1

"""A pour under way: what is noted, what follows from it, and who is told."""

from datetime import datetime, timedelta

import pytest

from scheduling.errors import NotAllowed, OutOfDate, Refusal
from scheduling.models import Message, MessageKind, NoteKind, ReminderKind, ReminderState, SiteNote
from scheduling.queries import sitenotes
from scheduling.roles import Role
from scheduling.services import briefing, live, reminders
from tests import factories

pytestmark = [pytest.mark.django_db, pytest.mark.database]

MINUTE = timedelta(minutes=1)
START = factories.STARTS_AT


@pytest.fixture
def lead():
    return factories.user(Role.CREW_LEAD)


@pytest.fixture
def pour(lead):
    """Four loads or so, for a crew with its lead, planned."""
    factories.company()
    crew = factories.crew(people=5)
    crew.lead = lead
    crew.save()
    made = factories.pour(
        crew=crew, people=5, sections=[{"length_m": 16.0, "width_m": 12.0, "depth_m": 0.125}]
    )
    factories.plan(made)
    return made


def note(pour, by, kind, minutes=0, *, key=None, now=None, **said):
    happened_at = START + minutes * MINUTE
    return live.note(
        pour=pour,
        kind=kind,
        key=key or live.new_key(),
        happened_at=happened_at,
        by=by,
        now=now or happened_at,
        **said,
    )


def truck(pour, by, load, arrived, started=None, empty=None):
    """A truck with a ticket half an hour older than its arrival."""
    at = START + arrived * MINUTE
    note(pour, by, NoteKind.TRUCK_ARRIVED, arrived, load=load, batch_at=at - 30 * MINUTE)
    if started is not None:
        note(pour, by, NoteKind.TRUCK_STARTED, started, load=load)
    if empty is not None:
        note(pour, by, NoteKind.TRUCK_EMPTY, empty, load=load)


# --- noting -----------------------------------------------------------------------------------


def test_the_same_press_sent_twice_is_one_note(pour, lead):
    first = note(pour, lead, NoteKind.TRUCK_ARRIVED, key="press-1", load=1)
    again = note(pour, lead, NoteKind.TRUCK_ARRIVED, minutes=2, key="press-1", load=1)
    assert again == first
    assert SiteNote.objects.count() == 1
    assert again.happened_at == START


def test_a_key_is_for_one_thing(pour, lead):
    note(pour, lead, NoteKind.TRUCK_ARRIVED, key="press-1", load=1)
    with pytest.raises(Refusal) as refused:
        note(pour, lead, NoteKind.TRUCK_ARRIVED, key="press-1", load=2)
    assert refused.value.code == "key_used"


def test_what_another_person_noted_is_not_noted_twice(pour, lead):
    note(pour, lead, NoteKind.TRUCK_ARRIVED, load=1)
    with pytest.raises(Refusal) as refused:
        note(pour, factories.user(Role.DISPATCHER), NoteKind.TRUCK_ARRIVED, minutes=1, load=1)
    assert refused.value.code == "already_noted"


@pytest.mark.parametrize(
    ("kind", "said", "code"),
    [
        (NoteKind.TRUCK_ARRIVED, {"load": 99}, "not_planned"),
        (NoteKind.TRUCK_ARRIVED, {}, "load_needed"),
        (NoteKind.RAIN, {"load": 1}, "load_needed"),
        (NoteKind.PEOPLE_THERE, {}, "people_needed"),
        (NoteKind.RAIN, {"people": 3}, "people_needed"),
        (NoteKind.TRUCK_EMPTY, {"load": 1, "batch_at": START}, "not_here"),
        (NoteKind.SLUMP, {"load": 1}, "measure_needed"),
        (NoteKind.SLUMP, {"slump_mm": 100.0}, "load_needed"),
        (NoteKind.SLUMP, {"load": 1, "slump_mm": 305.0}, "out_of_range"),  # ASTM C143: the cone is 12 in high
        (NoteKind.TEMPERATURE, {"load": 1, "concrete_c": 90.0}, "out_of_range"),
        (NoteKind.TEMPERATURE, {"load": 1, "slump_mm": 100.0}, "not_here"),
        (NoteKind.TICKET, {"load": 1, "ticket_m3": 75.0}, "out_of_range"),
        (NoteKind.RAIN, {"ticket_mix": "4000"}, "not_here"),
        (NoteKind.PHOTO, {}, "measure_needed"),
        (NoteKind.TRUCK_ARRIVED, {"load": 1, "batch_at": START + MINUTE}, "batched_later"),
        (NoteKind.RAIN, {"minutes": 10, "now": START}, "in_the_future"),
        (NoteKind.RAIN, {"minutes": -7 * 60}, "other_day"),
        (NoteKind.RAIN, {"minutes": 31 * 60}, "other_day"),
    ],
)
def test_what_cannot_have_happened_is_refused(pour, lead, kind, said, code):
    with pytest.raises(Refusal) as refused:
        note(pour, lead, kind, **said)
    assert refused.value.code == code
    assert not SiteNote.objects.exists()


def test_a_truck_is_not_empty_before_it_came_whatever_is_pressed_first(pour, lead):
    note(pour, lead, NoteKind.TRUCK_EMPTY, 10, load=1)
    with pytest.raises(Refusal) as refused:
        note(pour, lead, NoteKind.TRUCK_ARRIVED, 20, load=1)
    assert refused.value.code == "out_of_order"
    note(pour, lead, NoteKind.TRUCK_ARRIVED, 0, load=1, now=START + 30 * MINUTE)
    assert SiteNote.objects.count() == 2


def test_only_those_of_the_crew_and_those_who_plan_note_anything(pour):
    with pytest.raises(NotAllowed):
        note(pour, factories.user(Role.CREW_LEAD), NoteKind.RAIN)
    note(pour, factories.user(Role.DISPATCHER), NoteKind.RAIN)


def test_a_note_is_taken_back_within_ten_minutes_and_once(pour, lead):
    made = note(pour, lead, NoteKind.TRUCK_ARRIVED, load=1)
    with pytest.raises(Refusal) as late:
        live.undo(note=made, by=lead, now=START + 11 * MINUTE)
    assert late.value.code == "too_late_to_undo"
    live.undo(note=made, by=lead, now=START + 10 * MINUTE)
    assert sitenotes.standing_notes(pour) == []
    with pytest.raises(OutOfDate):
        live.undo(note=made, by=lead, now=START + 10 * MINUTE)
    note(pour, lead, NoteKind.TRUCK_ARRIVED, 3, load=1)  # and may be noted again


def test_a_cut_that_ravels_is_tried_again_later(pour, lead):
    cut = pour.reminders.get(kind=ReminderKind.FIRST_CUT)
    tried_at = cut.due_at + 5 * MINUTE
    live.note(pour=pour, kind=NoteKind.RAVELS, key="r", happened_at=tried_at, by=lead, now=tried_at)
    cut.refresh_from_db()
    assert cut.due_at >= tried_at + 30 * MINUTE


def due(pour, kind):
    return pour.reminders.get(kind=kind).due_at


def test_reminders_move_with_the_first_concrete_and_back_when_that_is_taken_back(pour, lead):
    planned = {kind: due(pour, kind) for kind in (ReminderKind.FINISH, ReminderKind.FIRST_CUT)}
    late = note(pour, lead, NoteKind.TRUCK_STARTED, 70, load=1)
    moved = {kind: due(pour, kind) - before for kind, before in planned.items()}
    assert moved[ReminderKind.FINISH] == 70 * MINUTE
    # the first strip ends with concrete of the second load, which comes when it was asked for
    assert 45 * MINUTE < moved[ReminderKind.FIRST_CUT] <= 70 * MINUTE
    live.undo(note=late, by=lead, now=START + 71 * MINUTE)
    assert {kind: due(pour, kind) for kind in planned} == planned


def test_a_last_truck_that_comes_late_moves_the_last_cut_and_leaves_when_to_start_finishing(pour, lead):
    loads = pour.plan.result["delivery"]["loads"]
    before = {kind: due(pour, kind) for kind in (ReminderKind.FINISH, ReminderKind.LAST_CUT)}
    until = pour.reminders.get(kind=ReminderKind.LAST_CUT).useful_until
    for load in loads:
        late = 90 if load is loads[-1] else 0
        start, end = (
            (datetime.fromisoformat(load[name]) - START) / MINUTE + late for name in ("starts_at", "ends_at")
        )
        truck(pour, lead, load["number"], arrived=start, started=start, empty=end)
    assert due(pour, ReminderKind.FINISH) == before[ReminderKind.FINISH]
    assert pour.reminders.get(kind=ReminderKind.LAST_CUT).useful_until > until + 45 * MINUTE


def test_the_text_to_start_finishing_tells_the_time_the_slab_has_now(pour, lead):
    note(pour, lead, NoteKind.TRUCK_STARTED, 70, load=1)
    at = due(pour, ReminderKind.FINISH)
    reminders.send_due(now=at)
    (text,) = Message.objects.filter(kind=MessageKind.REMINDER, body__contains="footprint")
    ready = (at + 15 * MINUTE).astimezone(briefing.site_zone(pour))
    assert f"{ready.hour % 12 or 12}:" in text.body or f"{ready.hour % 12 or 12}am" in text.body, text.body
    planned = briefing.kept_answer(pour.plan).first_set.float_ready.early.astimezone(briefing.site_zone(pour))
    assert ready - planned == 70 * MINUTE


def test_warmer_weather_since_brings_the_reminders_of_a_slab_under_way_forward(pour, lead):
    note(pour, lead, NoteKind.TRUCK_STARTED, 0, load=1)
    before = due(pour, ReminderKind.FINISH)
    factories.forecast(pour.job.site, factories.mild_hours(air_c=33.0), fetched_at=START - timedelta(hours=1))
    live.watch(now=START + 10 * MINUTE)
    assert due(pour, ReminderKind.FINISH) < before - 15 * MINUTE


def test_rain_that_is_noted_stretches_the_finishing_and_moves_the_cut(pour, lead):
    # Trade magazine: rain three hours after placing, for two; the crew covered the slab, waited and went on
    for load in pour.plan.result["delivery"]["loads"]:
        truck(pour, lead, load["number"], *(25 * load["number"] - 25 + ahead for ahead in (0, 0, 20)))
    cut, version = due(pour, ReminderKind.FIRST_CUT), pour.version
    dry = live.slab_as_it_stands(pour=pour, now=START + 280 * MINUTE)
    note(pour, lead, NoteKind.RAIN, 280)
    note(pour, lead, NoteKind.RAIN_OVER, 400)
    wet = live.slab_as_it_stands(pour=pour, now=START + 400 * MINUTE)
    assert wet["rain_waits_min"] == pytest.approx(120, abs=1)
    moved = datetime.fromisoformat(wet["finished_at"]) - datetime.fromisoformat(dry["finished_at"])
    assert moved == pytest.approx(120 * MINUTE, abs=MINUTE)
    assert due(pour, ReminderKind.FIRST_CUT) > cut + 60 * MINUTE
    pour.refresh_from_db()
    assert (pour.version, pour.is_standing) == (version, True)


@pytest.mark.parametrize(
    ("kind", "settled"),
    [
        (NoteKind.READY_TO_FINISH, [ReminderKind.FINISH]),
        (NoteKind.CUT_DONE, [ReminderKind.FIRST_CUT, ReminderKind.LAST_CUT]),
    ],
)
def test_what_is_noted_as_done_is_not_reminded_of(pour, lead, kind, settled):
    note(pour, lead, kind, 60)
    for reminder in pour.reminders.filter(kind__in=settled):
        assert reminder.state == ReminderState.NOT_NEEDED


def test_a_batch_time_read_later_off_the_ticket_gives_the_load_its_age(pour, lead):
    note(pour, lead, NoteKind.TRUCK_ARRIVED, load=1)
    unknown = live.as_it_stands(pour=pour, now=START)
    assert [finding["code"] for finding in unknown["findings"]] == ["load_age_unknown"]
    note(pour, lead, NoteKind.TICKET, 1, load=1, batch_at=START - 30 * MINUTE)
    known = live.as_it_stands(pour=pour, now=START + MINUTE)
    assert known["loads"][0]["age_min"] > 31
    assert known["findings"] == []


def test_a_load_refused_is_to_come_again_and_its_refusal_stays(pour, lead):
    truck(pour, lead, 1, arrived=0)
    note(pour, lead, NoteKind.REFUSED, 5, load=1)
    now = START + 5 * MINUTE
    assert live.as_it_stands(pour=pour, now=now)["loads"][0]["stand"] == "coming"
    truck(pour, lead, 1, arrived=40)
    assert live.as_it_stands(pour=pour, now=START + 40 * MINUTE)["loads"][0]["stand"] == "waiting"
    assert sitenotes.kinds_noted(pour) == {NoteKind.REFUSED, NoteKind.TRUCK_ARRIVED}


def test_a_strip_that_the_slab_has_not_got_is_not_ready(pour, lead):
    truck(pour, lead, 1, arrived=0, started=0, empty=20)
    strips = len(live.slab_as_it_stands(pour=pour, now=START + 60 * MINUTE)["strips"])
    with pytest.raises(Refusal) as refused:
        note(pour, lead, NoteKind.READY_TO_FINISH, 60, strip=strips + 1)
    assert refused.value.code == "not_planned"
    note(pour, lead, NoteKind.READY_TO_FINISH, 60, strip=strips)
    slab = live.slab_as_it_stands(pour=pour, now=START + 61 * MINUTE)
    assert [strip["found_ready"] for strip in slab["strips"]] == [False] * (strips - 1) + [True]


# --- what follows -----------------------------------------------------------------------------


def test_before_anything_is_noted_the_day_stands_as_planned(pour):
    run = live.as_it_stands(pour=pour, now=START - 90 * MINUTE)
    planned = pour.plan.result["delivery"]["loads"]
    assert [load["arrives_at"] for load in run["loads"]] == [load["asked_at"] for load in planned]
    assert run["findings"] == []
    assert run["hold"] is None


def test_half_the_people_hold_the_trucks_that_are_not_batched(pour, lead):
    note(pour, lead, NoteKind.PEOPLE_THERE, -60, people=2)
    run = live.as_it_stands(pour=pour, now=START - 60 * MINUTE)
    assert run["rate_m3_h"] == pytest.approx(pour.plan.result["line"]["rate_m3_h"] * 2 / 5)
    assert run["hold"]["first_load"] == 2
    assert "hold_trucks" in [finding["code"] for finding in run["findings"]]


def test_a_plan_with_fewer_loads_than_were_noted_still_stands(pour, lead):
    last = pour.plan.loads
    note(pour, lead, NoteKind.TRUCK_ARRIVED, load=last)
    pour.sections.update(length_m=4.0)
    pour.refresh_from_db()
    assert factories.plan(pour).loads < last
    assert live.as_it_stands(pour=pour, now=START)["loads"]


def test_without_a_plan_nothing_can_be_carried_on():
    factories.company()
    with pytest.raises(Refusal) as refused:
        live.as_it_stands(pour=factories.pour(), now=START)
    assert refused.value.code == "no_plan"


# --- who is told ------------------------------------------------------------------------------


def told():
    return Message.objects.filter(kind=MessageKind.DISPATCH)


def second_is_overdue(pour):
    asked = [load["asked_at"] for load in pour.plan.result["delivery"]["loads"]]
    return datetime.fromisoformat(asked[1]) + 40 * MINUTE


def test_a_truck_that_does_not_come_is_told_once_without_any_word_of_it(pour, lead):
    dispatcher = factories.user(Role.DISPATCHER)
    truck(pour, lead, 1, arrived=0, started=0, empty=20)
    now = second_is_overdue(pour)
    assert live.watch(now=now) >= 1
    assert live.watch(now=now + MINUTE) == 0
    texts = [message.body for message in told().filter(recipient=dispatcher)]
    assert any("Load 2 was asked for" in text and "Call the plant" in text for text in texts)
    assert all(text.startswith(pour.job.site.name[:10]) for text in texts)


def test_a_pour_of_which_nobody_notes_anything_is_not_watched(pour):
    factories.user(Role.DISPATCHER)
    assert live.watch(now=second_is_overdue(pour)) == 0


def test_a_load_past_its_limit_is_told_to_the_dispatcher(pour, lead):
    factories.user(Role.DISPATCHER)
    note(pour, lead, NoteKind.TRUCK_ARRIVED, load=1, batch_at=START - 110 * MINUTE)
    live.watch(now=START)
    assert any("Refuse it or call" in message.body for message in told())


def test_one_pour_that_cannot_be_followed_does_not_keep_the_next_from_being_watched(pour, lead, caplog):
    factories.user(Role.DISPATCHER)
    spoiled = factories.pour()
    factories.plan(spoiled)
    SiteNote.objects.create(
        pour=spoiled, key="a", kind=NoteKind.RAIN, happened_at=START, noted_at=START, by=lead
    )
    type(spoiled.plan).objects.filter(pk=spoiled.plan_id).update(result={})
    note(pour, lead, NoteKind.TRUCK_ARRIVED, load=1, batch_at=START - 110 * MINUTE)
    assert live.watch(now=START) >= 1
    assert "could not be watched" in caplog.text


def test_one_strip_that_is_ready_does_not_settle_the_saw(pour, lead):
    # Trade magazine: part of a slab may set slow, so that the first strip speaks for itself alone
    before = due(pour, ReminderKind.FIRST_CUT)
    note(pour, lead, NoteKind.READY_TO_FINISH, 60)
    cut = pour.reminders.get(kind=ReminderKind.FIRST_CUT)
    assert (cut.state, cut.due_at) == (ReminderState.WAITING, before)


def test_no_hour_ends_a_pour_that_nobody_called_done(pour, lead):
    # Trade magazine: concrete still soft at midnight, ten hours after placing, and the crew gone home
    note(pour, lead, NoteKind.TRUCK_STARTED, 0, load=1)
    before = pour.state
    for hours in (6, 12, 24, 40):
        live.watch(now=START + timedelta(hours=hours))
    pour.refresh_from_db()
    assert pour.state == before
    assert pour.is_standing

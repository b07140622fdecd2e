"""What people text back does what it says, once, and whatever a person must read reaches dispatch."""

from datetime import timedelta
from itertools import count

import pytest

from scheduling.errors import Refusal
from scheduling.models import (
    Answer,
    Consent,
    ConsentKind,
    ConsentWay,
    Meaning,
    Message,
    MessageKind,
    MessageState,
    Reminder,
    ReminderKind,
    ReminderState,
    Reply,
)
from scheduling.roles import Role
from scheduling.services import consent, inbox, outbox, planning, reminders
from scheduling.texting.segments import segments
from tests import factories
from tests.factories import NOW

pytestmark = pytest.mark.django_db

HOUR = timedelta(hours=1)
MINUTE = timedelta(minutes=1)
_sids = count(1)


@pytest.fixture
def dispatcher(office):
    return factories.user(Role.DISPATCHER)


@pytest.fixture
def lead(pour):
    lead = pour.crew.lead
    lead.first_name, lead.last_name = "Petra", "Voss"
    lead.save()
    return lead


@pytest.fixture
def morning(lead):
    return factories.message(lead, state=MessageState.DELIVERED, sent_at=NOW, body="Thu: Mill Rd")


def text(person, body, *, sid=None, now=NOW + MINUTE, heard="", phone=None):
    return inbox.take_in(
        gateway_key=sid or f"SM-in-{next(_sids)}",
        phone=str(phone or person.phone),
        body=body,
        service_heard=heard,
        now=now,
    )


def told():
    return list(Message.objects.filter(kind=MessageKind.DISPATCH).values_list("body", flat=True))


def last():
    return Reply.objects.order_by("-pk").first()


# --- assignments ------------------------------------------------------------------------------


@pytest.mark.parametrize("body", ["yes", "OK", "Sí, gracias"])
def test_yes_confirms_the_assignment_with_who_and_when(lead, morning, dispatcher, body):
    assert text(lead, body) == ""
    morning.refresh_from_db()
    assert (morning.answer, morning.answered_at) == (Answer.YES, NOW + MINUTE)
    assert (last().person, last().message) == (lead, morning)
    assert told() == []
    assert not last().needs_a_look


def test_yes_to_a_later_reminder_still_counts_for_the_morning(lead, morning):
    factories.message(lead, kind=MessageKind.REMINDER, state=MessageState.SENT, due_at=NOW + MINUTE)
    text(lead, "yes", now=NOW + 2 * MINUTE)
    morning.refresh_from_db()
    assert morning.answer == Answer.YES


def test_no_reaches_dispatch_and_the_last_word_counts(lead, morning, dispatcher):
    text(lead, "yes")
    assert text(lead, "no", now=NOW + 5 * MINUTE) == "Passed on to dispatch."
    morning.refresh_from_db()
    assert (morning.answer, morning.answered_at) == (Answer.NO, NOW + 5 * MINUTE)
    (message,) = Message.objects.filter(kind=MessageKind.DISPATCH)
    assert message.recipient == dispatcher
    assert message.body == f"Petra Voss, {lead.crew_led} ({lead.phone}) answered NO to: Thu: Mill Rd"
    assert last().needs_a_look


def test_late_tells_dispatch_who_of_which_crew_and_by_how_much(lead, morning, dispatcher):
    text(lead, "late 20")
    assert told() == [f"Petra Voss, {lead.crew_led} ({lead.phone}) runs 20 min late"]
    assert last().late_min == 20


def test_late_without_a_number_is_told_in_their_own_words(lead, morning, dispatcher):
    text(lead, "voy tarde jefe")
    assert told() == [f'Petra Voss, {lead.crew_led} ({lead.phone}) runs late: "voy tarde jefe"']


def test_an_answer_to_yesterdays_text_confirms_nothing(lead, morning):
    text(lead, "yes", now=NOW + 19 * HOUR)
    morning.refresh_from_db()
    assert (morning.answer, last().message) == ("", None)


# --- reminders --------------------------------------------------------------------------------


def reminded(pour, kind, now):
    """The reminder goes out to the lead and arrives."""
    Reminder.objects.filter(pour=pour).exclude(kind=kind).delete()
    reminders.send_due(now=now)
    Message.objects.filter(reminder__kind=kind).update(state=MessageState.DELIVERED, sent_at=now)
    return pour.reminders.get(kind=kind)


def test_done_answers_the_open_reminder(pour, lead, dispatcher):
    at = pour.reminders.get(kind=ReminderKind.FINISH).due_at
    reminder = reminded(pour, ReminderKind.FINISH, at)
    text(lead, "listo", now=at + 5 * MINUTE)
    reminder.refresh_from_db()
    message = Message.objects.get(reminder=reminder)
    assert reminder.answered_at == message.answered_at == at + 5 * MINUTE
    assert message.answer == Answer.DONE
    assert told() == []


def test_done_with_nothing_open_is_for_a_person(lead, morning, dispatcher):
    text(lead, "done")
    assert told() == [f'Petra Voss, {lead.crew_led} ({lead.phone}) texted: "done"']


def test_a_cut_that_ravels_is_tried_again_half_an_hour_later(pour, lead, dispatcher):
    at = pour.reminders.get(kind=ReminderKind.FIRST_CUT).due_at
    reminded(pour, ReminderKind.FIRST_CUT, at)
    assert text(lead, "it ravels", now=at + 10 * MINUTE) == "OK. Try the cut again in 30 min."
    reminder = pour.reminders.get()
    assert (reminder.state, reminder.due_at) == (ReminderState.WAITING, at + 40 * MINUTE)
    assert reminders.send_due(now=at + 39 * MINUTE) == 0
    assert reminders.send_due(now=at + 40 * MINUTE) == 1
    assert Message.objects.filter(reminder=reminder).count() == 2


def test_in_the_cold_the_cut_is_tried_again_later(lead):
    cold = factories.site(name="Cold corner")
    factories.forecast(cold, factories.mild_hours(air_c=3.0))
    pour = factories.pour(site=cold, crew=lead.crew_led)
    factories.plan(pour)
    at = pour.reminders.get(kind=ReminderKind.FIRST_CUT).due_at
    reminded(pour, ReminderKind.FIRST_CUT, at)
    assert text(lead, "it ravels", now=at + 10 * MINUTE) == "OK. Try the cut again in 60 min."


def test_a_new_plan_does_not_bring_the_trial_forward(pour, lead):
    at = pour.reminders.get(kind=ReminderKind.FIRST_CUT).due_at
    reminded(pour, ReminderKind.FIRST_CUT, at)
    text(lead, "ravels", now=at + 10 * MINUTE)
    planning.plan_pour(pour=pour, by=None, now=at + 11 * MINUTE)
    assert pour.reminders.get(kind=ReminderKind.FIRST_CUT).due_at == at + 40 * MINUTE


def test_ravels_with_nothing_to_cut_is_for_a_person(lead, morning, dispatcher):
    Reminder.objects.all().delete()
    text(lead, "ravels")
    assert len(told()) == 1
    assert last().needs_a_look


# --- what only a person can read --------------------------------------------------------------


def test_a_text_not_understood_reaches_dispatch_word_for_word(lead, morning, dispatcher):
    assert text(lead, "gate is locked, code?") == "Passed on to dispatch."
    assert told() == [f'Petra Voss, {lead.crew_led} ({lead.phone}) texted: "gate is locked, code?"']
    assert (last().meaning, last().needs_a_look) == (Meaning.UNCLEAR, True)


def test_without_a_dispatcher_the_office_is_told(lead, morning, office):
    text(lead, "gate is locked")
    assert Message.objects.get(kind=MessageKind.DISPATCH).recipient == office


def test_a_strangers_text_waits_to_be_read_and_is_not_texted_on(office):
    assert text(None, "hello?", phone="+19135550177") == ""
    assert (last().person, last().needs_a_look, told()) == (None, True, [])


def test_one_who_perhaps_asks_to_stop_is_told_how(lead, morning, dispatcher):
    assert "the one word STOP" in text(lead, "please stop sending me these at five")
    lead.refresh_from_db()
    assert lead.texts_stopped_at is None


def test_a_reply_is_seen_to_once(lead, morning, dispatcher):
    text(lead, "gate is locked")
    inbox.mark_seen(reply=last(), by=dispatcher, now=NOW + HOUR)
    assert (last().seen_by, last().seen_at) == (dispatcher, NOW + HOUR)
    with pytest.raises(Refusal, match="already"):
        inbox.mark_seen(reply=last(), by=dispatcher, now=NOW + HOUR)


# --- twice ------------------------------------------------------------------------------------


def test_a_text_handed_over_twice_acts_once_and_is_answered_alike(lead, morning, dispatcher):
    answers = {text(lead, "no", sid="SM-same") for _ in range(3)}
    assert answers == {"Passed on to dispatch."}
    assert (Reply.objects.count(), len(told())) == (1, 1)


@pytest.mark.parametrize(("apart", "tellings"), [(119, 1), (121, 2)])
def test_the_same_words_within_two_minutes_are_one_text(lead, morning, dispatcher, apart, tellings):
    text(lead, "Gate is locked!")
    text(lead, "gate is  LOCKED", now=NOW + MINUTE + timedelta(seconds=apart))
    assert len(told()) == tellings
    assert Reply.objects.filter(repeats__isnull=False).count() == 2 - tellings


def test_other_words_at_once_are_another_text(lead, morning, dispatcher):
    text(lead, "late 10")
    text(lead, "late 20")
    assert len(told()) == 2


# --- consent ----------------------------------------------------------------------------------


def queue(lead, key, now):
    outbox.queue_message(
        key=key,
        kind=MessageKind.MORNING,
        recipient=lead,
        body="x",
        due_at=now,
        useful_until=now + HOUR,
        pours=(),
        now=now,
    )


def test_stop_holds_at_once_and_until_start(lead, morning, dispatcher, capsys):
    queue(lead, "waiting already", NOW)
    assert "no more texts" in text(lead, "STOP")
    assert outbox.send_due(now=NOW + 2 * MINUTE) == 0
    waiting = Message.objects.get(key="waiting already")
    assert (waiting.state, waiting.reason) == (
        MessageState.WITHHELD,
        "Petra Voss asked for no texts: phone instead",
    )
    text(lead, "yes", now=NOW + HOUR)
    lead.refresh_from_db()
    assert lead.texts_stopped_at == NOW + MINUTE
    assert "texts again" in text(lead, "START", now=NOW + 2 * HOUR)
    queue(lead, "after start", NOW + 2 * HOUR)
    assert outbox.send_due(now=NOW + 3 * HOUR - MINUTE) == 1
    kinds = Consent.objects.filter(person=lead).order_by("at").values_list("kind", "way", "by")
    assert list(kinds) == [
        (ConsentKind.STOPPED, ConsentWay.BY_TEXT, None),
        (ConsentKind.STARTED, ConsentWay.BY_TEXT, None),
    ]


def test_stop_is_heard_however_soon_it_comes_again(lead, morning):
    text(lead, "STOP")
    text(lead, "START", now=NOW + MINUTE + timedelta(seconds=10))
    text(lead, "STOP", now=NOW + MINUTE + timedelta(seconds=20))
    lead.refresh_from_db()
    assert lead.texts_stopped_at is not None


def test_stop_counts_for_everybody_at_the_number(lead):
    other = factories.user(phone=lead.phone)
    text(lead, "stop")
    other.refresh_from_db()
    assert other.texts_stopped_at is not None


def test_help_is_answered_in_the_readers_language_also_after_stop(lead):
    text(lead, "stop")
    assert "Reply YES or NO" in text(lead, "HELP")
    lead.refresh_from_db()
    lead.language = "es"
    lead.save()
    assert "Responda SI o NO" in text(lead, "ayuda")


def test_what_the_service_has_answered_itself_is_not_answered_again(lead):
    assert text(lead, "Nein danke", heard="STOP") == ""
    lead.refresh_from_db()
    assert lead.texts_stopped_at is not None


def test_the_office_writes_down_an_agreement_and_cannot_undo_a_stop(lead, office):
    lead.texts_agreed_at = None
    lead.save()
    consent.record_agreement(person=lead, way=ConsentWay.ON_PAPER, by=office, now=NOW)
    kept = Consent.objects.get(person=lead)
    assert (kept.kind, kept.way, kept.by, kept.at, kept.phone) == (
        ConsentKind.AGREED,
        ConsentWay.ON_PAPER,
        office,
        NOW,
        lead.phone,
    )
    consent.stop_texts(person=lead, way=ConsentWay.IN_PERSON, by=office, now=NOW)
    with pytest.raises(Refusal, match="by texting START"):
        consent.record_agreement(person=lead, way=ConsentWay.IN_PERSON, by=office, now=NOW)


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("what", sorted(inbox.answers.ANSWERS))
def test_an_answer_fits_one_text(what, language):
    said = inbox.answers.answer(what, language, "Ninebark Flatwork", 30)
    assert segments(said) == 1


def test_dispatch_is_told_in_its_own_language(lead, morning, dispatcher):
    dispatcher.language = "es"
    dispatcher.save()
    text(lead, "late 20")
    (said,) = told()
    assert "runs" not in said
    assert "20" in said

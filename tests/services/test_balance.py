"""Short by measure: what is left is measured, and a balance load is asked for in the open."""

from datetime import timedelta

import pytest

from scheduling.errors import Refusal
from scheduling.models import NoteKind
from scheduling.queries import sitenotes
from scheduling.roles import Role
from scheduling.services import live
from tests import factories

pytestmark = [pytest.mark.django_db, pytest.mark.database]

START, MINUTE = factories.STARTS_AT, timedelta(minutes=1)
YD3_M3 = 0.764554857984  # exact, from the international yard


@pytest.fixture
def pour():
    made = factories.pour()
    factories.plan(made)
    return made


@pytest.fixture
def note(pour):
    by = factories.user(Role.DISPATCHER)

    def _note(kind, minutes, **said):
        at = START + minutes * MINUTE
        return live.note(pour=pour, kind=kind, key=live.new_key(), happened_at=at, by=by, now=at, **said)

    return _note


def refused(note, kind, minutes, **said):
    with pytest.raises(Refusal) as problem:
        note(kind, minutes, **said)
    return problem.value.code


def test_four_yards_for_half_a_yard_left_are_asked_about_a_second_time(pour, note):
    # A story of 2013: four yards called in in a rush, not needed three minutes later, loaded already
    note(NoteKind.MEASURED, 60, m3=0.5 * YD3_M3)
    assert refused(note, NoteKind.BALANCE_ASKED, 61, m3=4 * YD3_M3) == "confirm_balance"
    assert sitenotes.balance_stand(pour) is None
    note(NoteKind.BALANCE_ASKED, 62, m3=4 * YD3_M3, confirmed=True)
    assert sitenotes.balance_stand(pour) == NoteKind.BALANCE_ASKED


def test_exactly_twice_what_was_measured_needs_no_second_yes(note):
    note(NoteKind.MEASURED, 60, m3=0.5)
    assert note(NoteKind.BALANCE_ASKED, 61, m3=1.0).m3 == 1.0


def test_without_a_measure_every_balance_load_is_asked_about(note):
    assert refused(note, NoteKind.BALANCE_ASKED, 61, m3=1.0) == "confirm_balance"


def test_a_balance_load_is_cancelled_only_before_it_is_loading(pour, note):
    note(NoteKind.MEASURED, 60, m3=1.0)
    note(NoteKind.BALANCE_ASKED, 61, m3=1.0)
    note(NoteKind.BALANCE_CANCELLED, 64)
    note(NoteKind.BALANCE_ASKED, 65, m3=1.0)
    note(NoteKind.BALANCE_LOADING, 70)
    assert refused(note, NoteKind.BALANCE_CANCELLED, 71) == "too_late_to_cancel"
    note(NoteKind.BALANCE_GONE, 75)
    assert refused(note, NoteKind.BALANCE_CANCELLED, 76) == "too_late_to_cancel"


@pytest.mark.parametrize(
    "kind", [NoteKind.BALANCE_LOADING, NoteKind.BALANCE_GONE, NoteKind.BALANCE_CANCELLED]
)
def test_nothing_is_loading_that_nobody_asked_for(note, kind):
    assert refused(note, kind, 60) == "balance_out_of_turn"


@pytest.mark.parametrize(
    ("kind", "said", "code"),
    [
        (NoteKind.MEASURED, {}, "amount_needed"),
        (NoteKind.MEASURED, {"m3": -1.0}, "amount_needed"),
        (NoteKind.RAIN, {"m3": 1.0}, "amount_needed"),
        (NoteKind.BALANCE_ASKED, {"m3": 0.0, "confirmed": True}, "amount_needed"),
        (NoteKind.RAIN, {"strip": 1}, "not_here"),
        (NoteKind.READY_TO_FINISH, {"strip": 99}, "not_planned"),
    ],
)
def test_an_amount_goes_with_what_has_one(note, kind, said, code):
    assert refused(note, kind, 60, **said) == code

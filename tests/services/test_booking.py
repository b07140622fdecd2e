"""Booking, changing and cancelling pours: versions, clashes, and what follows from them."""

from datetime import timedelta

import pytest

from scheduling.errors import Clashes, NotAllowed, OutOfDate, Refusal
from scheduling.models import AcceptedClash, OrderState, Pour, PourState, ReminderState
from scheduling.roles import Role
from scheduling.services import booking
from tests import factories

pytestmark = pytest.mark.django_db

NOW = factories.NOW


def book(crew=None, by=None, **columns):
    factories.company()
    mix = columns.pop("mix", None) or factories.mix()
    said = {
        "job": columns.pop("job", None) or factories.job(),
        "sections": [factories.SECTION],
        "starts_at": factories.STARTS_AT,
        "plant": mix.plant,
        "mix": mix,
        "crew": crew or factories.crew(people=5),
        "by": by or factories.user(),
        "now": NOW,
        **columns,
    }
    return booking.book_pour(**said)


def test_a_booked_pour_has_its_plan_order_reminders_and_history():
    pour = book()
    assert pour.plan.number == 1
    assert pour.orders.get().state == OrderState.TO_CALL
    assert {"order", "confirm", "finish", "cure"} <= set(pour.reminders.values_list("kind", flat=True))
    assert list(pour.events.values_list("kind", flat=True)) == ["booked", "planned", "order_made"]


def test_what_makes_no_sense_is_refused_and_nothing_is_kept():
    with pytest.raises(Refusal) as refused:
        book(sections=[{**factories.SECTION, "depth_m": -0.1}])
    assert refused.value.field == "depth_m"
    assert not Pour.objects.exists()


def test_a_pour_without_sections_is_refused():
    with pytest.raises(Refusal) as refused:
        book(sections=[])
    assert refused.value.field == "sections"


def test_a_mix_of_another_plant_is_refused():
    with pytest.raises(Refusal) as refused:
        book(plant=factories.plant())
    assert refused.value.code == "mix_of_other_plant"


def test_a_start_that_is_past_is_refused():
    with pytest.raises(Refusal) as refused:
        book(starts_at=NOW - timedelta(minutes=1))
    assert refused.value.code == "in_the_past"


def test_a_crew_lead_may_not_book():
    with pytest.raises(NotAllowed):
        book(by=factories.user(Role.CREW_LEAD))


def test_a_second_pour_for_the_crew_at_the_same_time_is_told_of_the_clash_and_not_kept():
    crew = factories.crew(people=5)
    first = book(crew)
    with pytest.raises(Clashes) as clash:
        book(crew)
    assert {clash.code for clash in clash.value.facts["clashes"]} >= {"two_placings"}
    assert list(Pour.objects.all()) == [first]


def test_a_clash_that_is_accepted_is_booked_and_remembered():
    crew, by = factories.crew(people=5), factories.user()
    book(crew)
    second = book(crew, by=by, accept_clashes=True)
    assert AcceptedClash.objects.filter(pour=second, accepted_by=by).exists()
    assert second.events.filter(kind="clash_accepted").exists()
    # Changing a word about it asks again, since the acceptance was of the pours as they stood.
    with pytest.raises(Clashes):
        booking.change_pour(pour=second, version=1, by=by, now=NOW, notes="Mind the dog.")


def test_a_move_makes_a_new_plan_version_and_a_new_order_revision():
    pour = book()
    later = pour.starts_at + timedelta(hours=2)
    moved = booking.move_pour(pour=pour, version=1, starts_at=later, by=factories.user(), now=NOW)
    assert (moved.version, moved.plan.number, moved.plan.starts_at) == (2, 2, later)
    assert list(moved.orders.order_by("revision").values_list("state", flat=True)) == ["replaced", "to_call"]
    assert moved.plans.count() == 2
    assert moved.events.filter(kind="moved").exists()


def test_a_change_from_an_old_version_is_refused_and_names_the_current_one():
    pour = book()
    by = factories.user()
    booking.change_pour(pour=pour, version=1, by=by, now=NOW, notes="Mind the dog.")
    with pytest.raises(OutOfDate) as out:
        booking.move_pour(pour=pour, version=1, starts_at=pour.starts_at, by=by, now=NOW)
    assert out.value.facts["version"] == 2


def test_new_sections_replace_the_old_ones():
    pour = book()
    sections = [factories.SECTION, {**factories.SECTION, "edges": [{"width_m": 0.3, "depth_m": 0.3}]}]
    changed = booking.change_pour(pour=pour, version=1, sections=sections, by=factories.user(), now=NOW)
    assert changed.sections.count() == 2
    assert changed.plan.order_m3 > pour.plan.order_m3 * 2


def test_cancelling_takes_the_order_and_every_reminder_with_it():
    pour = book()
    cancelled = booking.cancel_pour(pour=pour, version=1, reason="Rain", by=factories.user(), now=NOW)
    assert cancelled.state == PourState.CANCELLED
    assert cancelled.orders.get().state == OrderState.CANCELLED
    assert set(cancelled.reminders.values_list("state", flat=True)) == {ReminderState.NOT_NEEDED}
    with pytest.raises(Refusal):
        booking.move_pour(
            pour=pour,
            version=2,
            starts_at=pour.starts_at + timedelta(hours=1),
            by=factories.user(),
            now=NOW,
        )


def test_a_cancelled_pour_clashes_with_nothing():
    crew = factories.crew(people=5)
    first = book(crew)
    booking.cancel_pour(pour=first, version=1, reason="", by=factories.user(), now=NOW)
    assert book(crew).pk


def test_hold_and_release_go_back_and_forth():
    pour, by = book(), factories.user()
    held = booking.hold_pour(pour=pour, version=1, reason="Forms not checked", by=by, now=NOW)
    assert held.state == PourState.ON_HOLD
    with pytest.raises(Refusal):
        booking.hold_pour(pour=pour, version=2, reason="", by=by, now=NOW)
    assert booking.release_pour(pour=pour, version=2, by=by, now=NOW).state == PourState.BOOKED


def test_the_spotter_is_one_of_the_crew_by_whole_name_or_by_a_first_name_of_one_alone():
    crew = factories.crew(people=2)
    assert book(crew, spotter=" abel ", accept_clashes=True).spotter == "Abel"
    with pytest.raises(Refusal) as refused:
        book(crew, spotter="Zed", accept_clashes=True)
    assert (refused.value.code, refused.value.field) == ("spotter_not_of_crew", "spotter")
    assert "Abel, Bo" in refused.value.message


def test_two_of_one_first_name_are_told_apart_before_one_of_them_is_the_spotter():
    crew = factories.crew(people=0)
    for name in ("Sam Holt", "Sam Reyes"):
        crew.workers.create(name=name)
    with pytest.raises(Refusal):
        book(crew, spotter="Sam", people=2)
    assert book(crew, spotter="Sam Reyes", people=2).spotter == "Sam Reyes"


def test_a_crew_whose_people_nobody_listed_takes_any_name():
    assert book(factories.crew(people=0, lead=None), spotter="Rosa Field").spotter == "Rosa Field"


def test_another_crew_leaves_the_spotter_behind_unless_it_has_them_too():
    by, crews = factories.user(), [factories.crew(people=people) for people in (2, 6, 1)]
    pour = book(crews[0], spotter="Bo", by=by, accept_clashes=True)
    spotters = []
    for crew in crews[1:]:
        pour = booking.change_pour(
            pour=pour, version=pour.version, by=by, now=NOW, crew=crew, accept_clashes=True
        )
        spotters.append(pour.spotter)
    assert spotters == ["Bo", ""]


def test_touching_pours_of_one_crew_do_not_clash():
    """Half-open intervals: one crew may stand on the second site the minute the first is empty."""
    crew = factories.crew(people=8)
    first = book(crew)
    starts_at = first.plan.placed_at + timedelta(minutes=60)  # the call is an hour before the first truck
    assert book(crew, starts_at=starts_at).plan.call_at == first.plan.placed_at

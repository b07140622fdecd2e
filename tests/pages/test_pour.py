from datetime import UTC, date, datetime, time, timedelta

import pytest
import time_machine

from scheduling.models import EventKind, OrderState, PlantOrder, Pour, PourState
from scheduling.services import booking, ordering, outbox
from tests import factories
from tests.pages.conftest import THURSDAY, form_of, signed_in
from tests.pages.reading import fields_of, html_of, text_of


def address(pour, action=""):
    return f"/pours/{pour.pk}/{action}"


def test_the_plan_comes_in_plain_words_first(page, pour):
    text = text_of(page.get(address(pour)))
    said = f"Thursday, September 3: 32¼ yd³ of 4000-75-WR to {pour.job.site.address}."
    assert said in text
    assert "On site: the first truck at 7:00 am, " in text
    assert "Hold the last load until we call" in text
    assert text.index("Tell the plant") < text.index("Look out for") < text.index("How much")
    assert "Local codes and the engineer’s specification govern." in text


def test_every_part_of_the_plan_is_there(page, pour):
    text = text_of(page.get(address(pour)))
    for part in (
        "Who does what",
        "sets the pace",
        "Trucks",
        "Age then",
        "Heat and drying",
        "Finishing, strip by strip",
        "Joints",
    ):
        assert part in text
    assert "Struck by" in text
    assert "Walk on it" in text
    assert "4 by 3 panels" in text  # 52' x 38' at near 12' 6", 30 times 5 in
    assert "Takes a trowel" in text
    assert "Try the first cut" in text


def test_findings_stand_worst_first_each_with_its_source(page, pour):
    html = html_of(page.get(address(pour)))
    severities = [part.split('"')[0] for part in html.split('<li class="')[1:]]
    said = [word for word in severities if word in ("stop", "caution", "note")]
    assert said == sorted(said, key=("stop", "caution", "note").index)
    assert "NIOSH" in html


def test_every_load_has_a_line_of_its_times(page, pour):
    html = html_of(page.get(address(pour)))
    trucks = html[html.index('id="trucks"') : html.index('id="line"')]
    assert trucks.count("<tr><th scope") - 1 == pour.plan.loads == 4


def test_joints_are_drawn_to_scale(page, pour):
    html = html_of(page.get(address(pour)))
    drawing = html[html.index('class="layout"') :]
    assert drawing.count('class="joint"', 0, drawing.index("</svg>")) == 3 + 2
    xs, ys = zip(*(point.split() for point in drawing.split('d="M')[1].split("Z")[0].split("L")), strict=True)
    long, wide = max(map(float, xs)) - min(map(float, xs)), max(map(float, ys)) - min(map(float, ys))
    assert long / wide == pytest.approx(52 / 38, rel=0.01)


def test_the_plants_clock_is_shown_where_it_differs(page, book):
    # Eastern and Central time, ours; the rule from the IANA time zone database.
    plant = factories.plant(time_zone="America/Chicago")
    east = factories.job(site=factories.site(time_zone="America/New_York"))
    pour = book(job=east, mix=factories.mix(plant=plant), starts_at=datetime(2026, 9, 3, 11, 0, tzinfo=UTC))
    text = text_of(page.get(address(pour)))
    assert "On site: the first truck at 6:00 am your time (CDT; 7:00 am here)" in text
    assert "The plant’s clock is on CDT, the site’s on EDT." in text
    assert "First on site Thu, Sep 3, 6:00 am CDT" in text


def test_without_a_forecast_it_says_what_the_times_rest_on(page, pour):
    pour.job.site.forecasts.all().delete()
    booking.replan_pour(pour=pour, version=1, by=pour.booked_by, now=factories.NOW)
    text = text_of(page.get(address(pour)))
    assert "No forecast reaches this day yet" in text
    assert "Without a forecast there is nothing to show hour by hour." in text


def test_a_pour_without_a_plan_has_a_page(page, office):
    assert "No plan yet" in text_of(page.get(address(factories.pour())))


# --- acting on it -----------------------------------------------------------------------------


def test_moving_takes_the_sites_clock_and_plans_afresh(page, pour):
    said = form_of(pour, day="2026-09-04", time="08:30")
    assert page.post(address(pour, "move/"), said).status_code == 302
    pour.refresh_from_db()
    assert pour.starts_at == datetime(2026, 9, 4, 13, 30, tzinfo=UTC)
    assert pour.version == 2
    assert pour.plans.count() == 2
    text = text_of(page.get(address(pour, "?all")))
    assert "Plan 1: 32¼ yd³" in text
    assert "Moved" in text


def test_a_cure_fills_in_the_move(page, pour):
    fields = fields_of(page.get(address(pour), {"start": "2026-09-04T14:15"}))
    assert (fields["day"], fields["time"]) == ("2026-09-04", "14:15")


def test_a_stale_version_changes_nothing_and_keeps_what_was_typed(page, pour, office):
    booking.move_pour(
        pour=pour, version=1, starts_at=THURSDAY + timedelta(hours=1), by=office, now=factories.NOW
    )
    said = form_of(pour, day="2026-09-05", time="09:00")
    assert said["version"] == 1
    answer = page.post(address(pour, "move/"), said)
    assert answer.status_code == 412
    assert "Somebody changed this pour since you read it. What you typed is still here" in text_of(answer)
    fields = fields_of(answer)
    assert (fields["day"], fields["time"]) == ("2026-09-05", "09:00")
    pour.refresh_from_db()
    assert pour.starts_at == THURSDAY + timedelta(hours=1)
    again = {"version": fields["version"], "day": fields["day"], "time": fields["time"]}
    assert page.post(address(pour, "move/"), again).status_code == 302


@pytest.mark.parametrize("version", ["", "x", "0", str(10**30)])
def test_a_spoiled_version_changes_nothing(page, pour, version):
    answer = page.post(address(pour, "hold/"), {"version": version, "reason": "x"})
    assert answer.status_code == 400
    assert Pour.objects.get().state == PourState.BOOKED


def test_moving_into_a_clash_is_shown_and_takes_a_second_yes(page, pour, book):
    other = book(starts_at=THURSDAY + timedelta(days=1))
    said = form_of(pour, day="2026-09-04", time="07:00")
    answer = page.post(address(pour, "move/"), said)
    assert answer.status_code == 409
    text = text_of(answer)
    assert "Moved there, it would clash" in text
    assert other.job.name in text
    assert page.post(address(pour, "move/"), {**said, "move_anyway": "1"}).status_code == 302
    pour.refresh_from_db()
    assert pour.starts_at == other.starts_at


def test_a_move_to_nowhere_says_so_beside_the_field(page, pour):
    answer = page.post(address(pour, "move/"), form_of(pour, day="2026-08-20", time="07:00"))
    assert answer.status_code == 400
    assert "already past" in text_of(answer)
    assert fields_of(answer)["day"] == "2026-08-20"


def test_hold_and_release_with_the_reason_in_the_history(page, pour):
    page.post(address(pour, "hold/"), form_of(pour, reason="Forms not checked"))
    pour.refresh_from_db()
    assert pour.state == PourState.ON_HOLD
    text = text_of(page.get(address(pour, "?all")))
    assert "on hold" in text
    assert "Forms not checked" in text
    page.post(address(pour, "release/"), form_of(pour))
    pour.refresh_from_db()
    assert pour.state == PourState.BOOKED


def test_hold_wants_a_reason(page, pour):
    answer = page.post(address(pour, "hold/"), form_of(pour, reason=" "))
    assert answer.status_code == 400
    assert "Say why, in a few words." in text_of(answer)


def test_cancelling_takes_the_order_with_it_and_offers_nothing_more(page, pour):
    page.post(address(pour, "cancel/"), form_of(pour, reason="Rain"))
    pour.refresh_from_db()
    assert pour.state == PourState.CANCELLED
    assert PlantOrder.objects.get().state == OrderState.CANCELLED
    text = text_of(page.get(address(pour)))
    assert "Move it" not in text
    assert "No order stands." in text


def test_planning_again_adds_a_plan(page, pour):
    page.post(address(pour, "plan/"), form_of(pour))
    assert pour.plans.count() == 2
    assert pour.events.filter(kind=EventKind.PLANNED).count() == 2


# --- the order --------------------------------------------------------------------------------


def test_the_order_is_called_in_and_confirmed_with_names_and_numbers(page, pour):
    page.post(address(pour, "order/called/"), {"revision": 1, "taken_by": "Ruth"})
    page.post(address(pour, "order/confirmed/"), {"revision": 1, "ticket": "A-100"})
    order = PlantOrder.objects.get()
    assert (order.state, order.taken_by, order.ticket) == (OrderState.CONFIRMED, "Ruth", "A-100")
    text = text_of(page.get(address(pour)))
    assert "taken by Ruth." in text
    assert "order number A-100." in text


def test_calling_in_wants_a_name(page, pour):
    answer = page.post(address(pour, "order/called/"), {"revision": 1, "taken_by": ""})
    assert "Say who at the plant took it." in text_of(answer)
    assert PlantOrder.objects.get().state == OrderState.TO_CALL


def test_an_order_that_was_revised_meanwhile_is_not_confirmed(page, pour, office):
    booking.move_pour(
        pour=pour, version=1, starts_at=THURSDAY + timedelta(hours=1), by=office, now=factories.NOW
    )
    answer = page.post(address(pour, "order/confirmed/"), {"revision": 1, "ticket": "A-100"})
    assert answer.status_code == 412
    assert "The order changed since you read it." in text_of(answer)
    assert not PlantOrder.objects.filter(state=OrderState.CONFIRMED).exists()


def test_an_order_that_is_gone_is_told_plainly(page, pour, office):
    booking.cancel_pour(pour=pour, version=1, reason="Rain", by=office, now=factories.NOW)
    answer = page.post(address(pour, "order/confirmed/"), {"revision": 1, "ticket": "A-100"})
    assert answer.status_code == 412
    assert "The order changed since you read it." in text_of(answer)


def test_the_order_of_a_held_pour_cannot_be_confirmed(page, pour):
    page.post(address(pour, "hold/"), form_of(pour, reason="Forms"))
    assert "release it first" in text_of(page.get(address(pour)))
    answer = page.post(address(pour, "order/confirmed/"), {"revision": 1, "ticket": "A"})
    assert answer.status_code == 400
    assert PlantOrder.objects.get().state == OrderState.TO_CALL


def test_where_trucks_back_in_the_page_asks_for_a_spotter_of_the_crew_before_it_confirms(page, book):
    pour = book(job=factories.job(site=factories.site(trucks_must_back=True)))
    text = text_of(page.get(address(pour)))
    assert "no spotter" in text
    assert "name the spotter before it is confirmed" in text
    answer = page.post(address(pour, "order/confirmed/"), {"revision": 1, "ticket": "A"})
    assert answer.status_code == 400
    assert "name the spotter before the order is confirmed" in text_of(answer)
    assert PlantOrder.objects.get().state == OrderState.TO_CALL
    refused = page.post(address(pour, "spotter/"), form_of(pour, spotter="Nobody"))
    assert refused.status_code == 400
    assert "No one person of Ash is called Nobody." in text_of(refused)
    assert page.post(address(pour, "spotter/"), form_of(pour, spotter="Cruz")).status_code == 302
    assert "Cruz guides them in and is not at the chute." in text_of(page.get(address(pour)))
    assert page.post(address(pour, "order/confirmed/"), {"revision": 1, "ticket": "A"}).status_code == 302


def test_an_order_past_the_cut_off_says_so(page, book):
    late = book(
        starts_at=factories.NOW + timedelta(hours=20),
        mix=factories.mix(plant=factories.plant(order_cutoff_at=time(9, 0))),
    )
    assert "past the cut-off" in text_of(page.get(address(late)))


# --- what else is kept ------------------------------------------------------------------------


def test_reminders_and_texts_are_listed(page, pour, crew):
    outbox.queue_message(
        key="one",
        kind="morning",
        recipient=crew.lead,
        body="On site 6am",
        due_at=factories.NOW,
        useful_until=factories.NOW + timedelta(hours=1),
        pours=[pour],
        now=factories.NOW,
    )
    text = text_of(page.get(address(pour, "?all")))
    assert "Order the concrete" in text
    assert f"Morning assignment to {crew.lead}" in text
    texts = text_of(page.get("/messages/"))
    assert "On site 6am" in texts
    assert "Waiting to be sent" in texts
    assert pour.job.name in texts


def test_a_lead_reads_the_own_texts_alone(pour, crew, office):
    from tests.pages.conftest import signed_in

    for key, recipient in (("one", crew.lead), ("two", office)):
        outbox.queue_message(
            key=key, kind="morning", recipient=recipient, body=f"for {key}", due_at=factories.NOW,
            useful_until=factories.NOW + timedelta(hours=1), pours=[pour], now=factories.NOW,
        )  # fmt: skip
    text = text_of(signed_in(crew.lead).get("/messages/"))
    assert "for one" in text
    assert "for two" not in text


def test_who_is_new_to_the_heat_stands_on_the_page_of_those_who_send_people_out_and_nobody_elses(
    page, book, crew
):
    # NIOSH 2016-106: a fifth of the work on the first day
    job = factories.job()
    factories.forecast(job.site, factories.mild_hours(factories.NOW, hours=24 * 14, air_c=36.0))
    hot = book(job=job)
    crew.workers.filter(name="Abel").update(heat_from_on=date(2026, 9, 3))
    office = text_of(page.get(f"/pours/{hot.pk}/"))
    assert "Abel: day 1 in the heat, at most 20% of a usual day’s work" in office
    lead = text_of(signed_in(crew.lead).get(f"/pours/{hot.pk}/"))
    assert "Look out for" in lead
    assert "Abel" not in lead
    assert "New to the heat" not in lead


def test_the_order_says_until_when_a_change_is_free_and_what_it_costs_then(page, pour, office):
    assert "A change" not in text_of(page.get(address(pour)))
    pour.plant.change_notice_h, pour.plant.late_change_fee = 12, 150
    pour.plant.save()
    assert "is free until Wed, Sep 2, 7:00 pm, then $150" in text_of(page.get(address(pour)))
    ordering.call_in(order=pour.orders.get(), taken_by="Gert", by=office, now=factories.NOW)
    with time_machine.travel(pour.starts_at - timedelta(hours=11)):
        assert "costs $150 now" in text_of(page.get(address(pour)))

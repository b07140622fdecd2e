"""Booking, changing and reading pours."""

from datetime import time

import pytest

from scheduling.models import AcceptedClash, Plan, Pour, PourState, Site
from tests import factories

pytestmark = [pytest.mark.django_db, pytest.mark.slow]


@pytest.fixture
def booked(office, booking) -> dict:
    """The slab, booked, as it was answered."""
    answer = office.post("pours/", booking)
    assert answer.status_code == 201, answer.json()
    return answer.json()


# --- booking ----------------------------------------------------------------------------------


def test_a_booked_slab_answers_what_to_order_and_when_each_truck_comes(office, booking):
    """52 x 38 ft at 5 in is 30.49 yd3; 5 % more is 32.02, in quarter yards 32.25 (NRMCA CIP 8: 4 to 10 %)."""
    answer = office.post("pours/", booking).json()
    concrete = answer["plan"]["concrete"]
    assert concrete["net"] == {"value": pytest.approx(30.493827), "unit": "yd3"}
    assert concrete["order"] == {"value": 32.25, "unit": "yd3"}
    assert [load["value"] for load in concrete["loads"]] == [10, 10, 10, 2.25]
    assert [load["arrives_at"] for load in answer["plan"]["delivery"]["loads"]] == [
        "2026-08-28T07:00:00-05:00",
        "2026-08-28T07:25:00-05:00",
        "2026-08-28T07:50:00-05:00",
        "2026-08-28T08:15:00-05:00",
    ]


def test_a_base_that_falls_with_the_top_takes_no_wedge(office, booking, slab):
    """Falling over a flat base, 2 in across 38 ft is an inch more on average: 36.59 yd3 net."""
    wedge = {**slab, "depth_kind": "falling_top"}
    answer = office.post("pours/", {**booking, "sections": [wedge]}).json()
    assert answer["plan"]["concrete"]["net"]["value"] == pytest.approx(52 * 38 * 6 / 12 / 27, abs=1e-6)


def test_a_booking_answers_its_address_version_and_finish(office, booking):
    answer = office.post("pours/", booking)
    pour = Pour.objects.get()
    assert answer.headers["ETag"] == '"1"'
    assert answer.headers["Location"].endswith(f"/api/v1/pours/{pour.pk}/")
    assert office.get(answer.headers["Location"]).json() == answer.json()


def test_a_booking_makes_the_order_to_call_in(office, booked):
    order = office.get("orders/", {"pour": booked["id"]}).json()["results"][0]
    assert order["state"] == "to_call"
    assert order["quantity"] == {"value": 32.25, "unit": "yd3"}
    assert order["interval"] == {"value": 25, "unit": "min"}


def test_the_plant_is_the_one_that_sells_the_mix(booked, booking):
    assert booked["plant"]["id"] == Pour.objects.get().mix.plant_id


def test_a_mix_of_another_plant_is_refused(office, booking):
    answer = office.post("pours/", {**booking, "plant": factories.plant().pk})
    assert answer.status_code == 400
    assert answer.json()["code"] == "mix_of_other_plant"
    assert answer.json()["errors"][0]["field"] == "mix"


def test_without_an_allowance_the_companys_percentage_is_added(office, booking, company):
    company.allowance_percent = 10
    company.save()
    answer = office.post("pours/", booking).json()
    assert answer["allowance"] == {"percent": {"value": 10, "unit": "%"}}
    assert answer["plan"]["concrete"]["order"]["value"] == 33.75


@pytest.mark.parametrize(
    ("allowance", "kept"),
    [
        ({"percent": "7.5 %"}, {"percent": {"value": 7.5, "unit": "%"}}),
        ({"depth": "3/4 in"}, {"depth": {"value": 0.75, "unit": "in"}}),
    ],
)
def test_an_allowance_is_a_percentage_or_a_depth(office, booking, allowance, kept):
    """A base 3/4 in low adds 15 % to a 5 in slab; it is taken with a note, not refused (ACI 117-10)."""
    answer = office.post("pours/", {**booking, "allowance": allowance})
    assert answer.json()["allowance"] == kept


def test_two_allowances_at_once_are_refused(office, booking):
    answer = office.post("pours/", {**booking, "allowance": {"percent": "5 %", "depth": "1 in"}})
    assert answer.json()["errors"][0]["field"] == "allowance"


def test_every_part_of_a_section_comes_back_as_it_was_given(office, booking):
    section = {
        "label": "apron",
        "shape": "polygon",
        "corners": [["0 ft", "0 ft"], ["30 ft", "0 ft"], ["30 ft", "20 ft"], ["0 ft", "20 ft"]],
        "depth_kind": "spots",
        "spot_depths": ["4 in", "4 1/4 in", "4 1/8 in"],
        "drawn_depth": "4 in",
        "edges": [{"width": "12 in", "depth": "12 in", "taper": "6 in"}],
        "openings": [{"shape": "circle", "diameter": "2 ft", "count": 2}],
    }
    kept = office.post("pours/", {**booking, "sections": [section]}).json()["sections"][0]
    assert kept["corners"][2] == [{"value": 30.0, "unit": "ft"}, {"value": 20.0, "unit": "ft"}]
    assert [depth["value"] for depth in kept["spot_depths"]] == [4, 4.25, 4.125]
    assert (kept["label"], kept["shape"], kept["depth"]) == ("apron", "polygon", None)
    assert kept["edges"][0]["taper"]["value"] == pytest.approx(0.5)
    assert (kept["openings"][0]["count"], kept["openings"][0]["diameter"]["value"]) == (2, 2.0)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"width": None}, "width"),
        ({"diameter": "3 ft"}, "diameter"),
        ({"shape": "circle"}, "diameter"),
        ({"depth": None}, "depth"),
        ({"depth_kind": "uniform"}, "fall"),
        ({"depth_kind": "spots"}, "spot_depths"),
        ({"spot_depths": ["4 in"]}, "spot_depths"),
        ({"edges": [{"width": "1 ft"}]}, "edges[0].depth"),
        ({"openings": [{"width": "1 ft", "length": "1 ft"}, {"length": "1 ft"}]}, "openings[1].width"),
    ],
)
def test_a_section_that_lacks_or_mixes_up_something_names_it(office, booking, slab, change, field):
    answer = office.post("pours/", {**booking, "sections": [slab, {**slab, **change}]})
    assert answer.status_code == 400
    assert f"sections[1].{field}" in [error["field"] for error in answer.json()["errors"]]


@pytest.mark.parametrize("sections", [[], None, {}, "52 ft", [[]], [None]])
def test_a_pour_without_a_section_is_refused(office, booking, sections):
    answer = office.post("pours/", {**booking, "sections": sections})
    assert answer.status_code == 400
    assert answer.json()["errors"][0]["field"].startswith("sections")


def test_what_the_engine_refuses_is_told_in_the_words_of_this_door(office, booking, slab):
    crossing = [["0 ft", "0 ft"], ["30 ft", "20 ft"], ["30 ft", "0 ft"], ["0 ft", "20 ft"]]
    section = {"shape": "polygon", "corners": crossing, "depth": "4 in"}
    answer = office.post("pours/", {**booking, "sections": [section]})
    assert answer.status_code == 400
    assert answer.json()["errors"][0]["field"] == "corners"
    assert "_m" not in answer.json()["detail"]


def test_a_start_that_is_past_is_refused(office, booking):
    answer = office.post("pours/", {**booking, "starts_at": "2026-08-26T07:00"})
    assert (answer.status_code, answer.json()["code"]) == (400, "in_the_past")


# --- two people at once -----------------------------------------------------------------------


def test_a_clash_is_told_with_a_start_that_would_be_free(office, booking, booked):
    answer = office.post("pours/", {**booking, "starts_at": "2026-08-28T07:30"})
    assert answer.status_code == 409
    assert answer.headers["Content-Type"] == "application/problem+json"
    problem = answer.json()
    assert problem["code"] == "clashes"
    clash = problem["clashes"][0]
    assert {pour["id"] for pour in clash["pours"]} == {booked["id"], None}
    assert clash["crew"]["id"] == booking["crew"]
    free = clash["cure"]["starts_at"]
    assert free.endswith("-05:00")
    assert office.post("pours/", {**booking, "starts_at": free}).status_code == 201


def test_a_clash_books_nothing(office, booking, booked):
    office.post("pours/", {**booking, "starts_at": "2026-08-28T07:30"})
    assert Pour.objects.count() == 1


def test_an_accepted_clash_is_booked(office, booking, booked):
    answer = office.post("pours/", {**booking, "starts_at": "2026-08-28T07:30", "accept_clashes": True})
    assert answer.status_code == 201
    assert AcceptedClash.objects.exists()


def test_a_move_into_a_clash_is_told_with_the_versions_as_they_are_kept(office, booking, booked):
    later = office.post("pours/", {**booking, "starts_at": "2026-08-29T07:00"}).json()
    move = {"version": 1, "starts_at": "2026-08-28T07:30"}
    answer = office.post(f"pours/{later['id']}/move/", move)
    assert answer.status_code == 409
    assert {pour["version"] for clash in answer.json()["clashes"] for pour in clash["pours"]} == {1}
    assert office.get(f"pours/{later['id']}/").json()["version"] == 1
    assert office.post(f"pours/{later['id']}/move/", {**move, "accept_clashes": True}).status_code == 200


def test_of_two_changes_from_one_version_the_second_is_told(office, dispatcher, booked):
    """Both change another thing; neither may undo what the other did without knowing it."""
    path = f"pours/{booked['id']}/"
    assert office.patch(path, {"version": 1, "title": "North bay"}).status_code == 200
    answer = dispatcher.patch(path, {"version": 1, "crew_size": 6})
    assert answer.status_code == 412
    assert (answer.json()["code"], answer.json()["version"]) == ("out_of_date", 2)
    assert dispatcher.patch(path, {"version": 2, "crew_size": 6}).json()["title"] == "North bay"


ACTIONS = {
    "": ("patch", {"title": "x"}),
    "move/": ("post", {"starts_at": "2026-08-28T09:00"}),
    "hold/": ("post", {"reason": "forms are not ready"}),
    "cancel/": ("post", {}),
    "plan/": ("post", {}),
}


@pytest.mark.parametrize(("path", "method", "body"), [(p, *rest) for p, rest in ACTIONS.items()])
def test_every_change_needs_the_version(office, booked, path, method, body):
    send = getattr(office, method)
    answer = send(f"pours/{booked['id']}/{path}", body)
    assert (answer.status_code, answer.json()["code"]) == (428, "version_missing")
    answer = send(f"pours/{booked['id']}/{path}", {**body, "version": 7})
    assert (answer.status_code, answer.json()["version"]) == (412, 1)
    assert send(f"pours/{booked['id']}/{path}", {**body, "version": 1}).status_code == 200


@pytest.mark.parametrize("etag", ['"1"', 'W/"1"'])
def test_the_etag_serves_as_the_version(office, booked, etag):
    answer = office.patch(f"pours/{booked['id']}/", {"title": "x"}, headers={"If-Match": etag})
    assert answer.status_code == 200
    assert answer.headers["ETag"] == '"2"'


@pytest.mark.parametrize("etag", ["*", "1", '"one"', '"1", "2"', '"0"', '"2"', '"99999999999"'])
def test_an_etag_that_names_no_version_or_another_is_refused(office, booked, etag):
    body = {"title": "x", "version": 1}
    answer = office.patch(f"pours/{booked['id']}/", body, headers={"If-Match": etag})
    assert answer.status_code == 400
    assert answer.json()["errors"][0]["field"] == "If-Match"


# --- changing ---------------------------------------------------------------------------------


def test_a_change_leaves_as_it_is_what_it_does_not_say(office, booked):
    changed = office.patch(f"pours/{booked['id']}/", {"version": 1, "finish": "broom"}).json()
    told_apart = {name for name in booked if booked[name] != changed[name]}
    assert told_apart == {"version", "finish", "plan"}


def test_new_sections_take_the_place_of_the_old(office, booked, slab):
    smaller = {**slab, "length": "26 ft"}
    changed = office.patch(f"pours/{booked['id']}/", {"version": 1, "sections": [smaller]}).json()
    assert [section["length"]["value"] for section in changed["sections"]] == [26]
    assert changed["plan"]["concrete"]["order"]["value"] == 16.25


def test_a_section_of_a_change_must_be_whole(office, booked):
    answer = office.patch(f"pours/{booked['id']}/", {"version": 1, "sections": [{"edges": [{}]}]})
    assert answer.status_code == 400
    assert "sections[0].edges[0].width" in [error["field"] for error in answer.json()["errors"]]


@pytest.mark.parametrize("field", ["crew", "reach", "trucks", "haul", "concrete_temperature", "age_limit"])
def test_what_may_be_unknown_can_be_taken_back(office, booking, field):
    values = {"trucks": 3, "haul": "40 min", "reach": "12 ft", "concrete_temperature": "70 F"}
    given = {**values, "age_limit": "75 min"}
    booked = office.post("pours/", {**booking, **given}).json()
    assert booked[field] is not None
    changed = office.patch(f"pours/{booked['id']}/", {"version": 1, field: None}).json()
    assert changed[field] is None


def test_a_pour_is_held_released_and_cancelled(office, booked):
    path = f"pours/{booked['id']}/"
    held = office.post(f"{path}hold/", {"version": 1, "reason": "inspection is open"}).json()
    released = office.post(f"{path}release/", {"version": 2}).json()
    cancelled = office.post(f"{path}cancel/", {"version": 3, "reason": "rain"}).json()
    assert [pour["state"] for pour in (held, released, cancelled)] == ["on_hold", "booked", "cancelled"]
    order = office.get("orders/", {"pour": booked["id"]}).json()["results"][0]
    assert order["state"] == "cancelled"


@pytest.mark.parametrize("action", ["release/", "plan/"])
def test_what_does_not_fit_its_state_is_refused(office, booked, action):
    if action == "plan/":
        Pour.objects.update(state=PourState.CANCELLED)
    answer = office.post(f"pours/{booked['id']}/{action}", {"version": 1})
    assert (answer.status_code, answer.json()["code"]) == (400, "pour_state")


def test_planning_afresh_takes_the_newest_forecast(office, booked):
    site = Pour.objects.get().job.site
    factories.forecast(site)
    planned = office.post(f"pours/{booked['id']}/plan/", {"version": 1}).json()
    assert (booked["plan"]["weather_known"], planned["plan"]["weather_known"]) == (False, True)
    assert planned["plan"]["number"] == 2
    assert planned["version"] == 1
    assert planned["plan"]["forecast"]["provider"] == "sample"


def test_every_plan_a_pour_had_can_be_read(office, booked):
    office.post(f"pours/{booked['id']}/plan/", {"version": 1})
    rows = office.get(f"pours/{booked['id']}/plans/").json()["results"]
    assert [row["number"] for row in rows] == [2, 1]
    assert rows[0]["starts_at"] == "2026-08-28T07:00:00-05:00"
    first = office.get(f"plans/{rows[1]['id']}/").json()
    assert first == booked["plan"]


def test_bays_and_the_grade_of_their_pads_come_with_the_plan(booked):
    """2 in over 38 ft is 0.44 %."""
    plan = booked["plan"]
    assert {choice["people"] for choice in plan["choices"]} >= {5}
    assert sum(bay["area"]["value"] for bay in plan["bays"]) == pytest.approx(52 * 38, rel=1e-6)
    assert plan["bays"][0]["starts_at"] == "2026-08-28T07:00:00-05:00"
    (grade,) = plan["grades"]
    assert grade["fall"]["value"] == pytest.approx(100 * 2 / (38 * 12), abs=1e-6)
    assert min(point["height"]["value"] for point in grade["points"]) == pytest.approx(-2)


def test_a_plan_from_before_there_were_bays_can_still_be_read(office, booked):
    plan = Plan.objects.get()
    later = {"bays", "grades", "choices"}
    older = {name: part for name, part in plan.result.items() if name not in later}
    Plan.objects.filter(pk=plan.pk).update(result=older)
    answer = office.get(f"plans/{plan.pk}/")
    assert answer.status_code == 200
    assert booked["plan"].keys() - answer.json().keys() == later


def test_what_happened_to_a_pour_can_be_read_with_who_did_it(office, booked):
    office.post(f"pours/{booked['id']}/move/", {"version": 1, "starts_at": "2026-08-28T09:00"})
    rows = office.get(f"pours/{booked['id']}/events/").json()["results"]
    assert [row["kind"] for row in rows] == [
        "booked", "planned", "order_made", "moved", "planned", "order_revised",
    ]  # fmt: skip
    moved = rows[3]
    assert moved["by"]["name"] == str(office.user)
    assert moved["facts"]["starts_at"] == "2026-08-28T09:00:00-05:00"
    assert moved["facts"]["fields"] == ["starts_at"]


# --- other starts -----------------------------------------------------------------------------


def test_other_starts_of_the_day_are_ranked_with_what_speaks_against_each(office, booked):
    rows = office.get(f"pours/{booked['id']}/starts/").json()["results"]
    totals = [row["total"] for row in rows]
    assert totals == sorted(totals)
    assert all(row["total"] == pytest.approx(sum(row["costs"].values())) for row in rows)
    assert "2026-08-28T07:00:00-05:00" in [row["starts_at"] for row in rows]


def test_loud_work_outside_its_hours_speaks_against_a_start(office, booked):
    def early():
        rows = office.get(f"pours/{booked['id']}/starts/", {"page_size": 100}).json()["results"]
        return next(row for row in rows if row["starts_at"] == "2026-08-28T07:00:00-05:00")

    assert "loud" not in early()["costs"]
    Site.objects.update(loud_from=time(8), loud_until=time(22))
    assert early()["costs"]["loud"] > 0


@pytest.mark.parametrize("hours", [{"loud_from": "07:00"}, {"loud_from": "19:00", "loud_until": "07:00"}])
def test_hours_for_loud_work_come_both_and_in_order(office, booked, hours):
    answer = office.patch(f"sites/{Site.objects.get().pk}/", hours)
    assert answer.status_code == 400
    assert [error["field"] for error in answer.json()["errors"]] == ["loud_until"]

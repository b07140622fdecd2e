from datetime import UTC, datetime

import pytest

from scheduling.models import Company, Job, PlantOrder, Pour, Site, SlabSection
from scheduling.roles import Right
from tests import factories
from tests.pages.conftest import FT, IN
from tests.pages.reading import fields_of, html_of, text_of

ADDRESS = "/pours/book/"


def typed(crew, mix, job, **said):
    """What the booking page sends for the walk; eight fields are typed or chosen, the rest stand ready."""
    return {
        "sections": "1",
        "job": str(job.pk),
        "day": "2026-09-03",
        "time": "07:00",
        "crew": str(crew.pk),
        "mix": str(mix.pk),
        "s0-shape": "rectangle",
        "s0-length_m": "52'",
        "s0-width_m": "38'",
        "s0-depth_m": "5",
        "s0-depth_kind": "falling_base",
        "s0-fall_m": "2 in",
        "method": "chute",
        "reinforcement": "none",
        "allowance_kind": "percent",
        "allowance_value": "5",
        "hold_last_load": "on",
        "finish": "trowel",
        "finishers": "2",
        "power_trowels": "1",
        "test_cylinders": "0",
        "saw": "conventional",
        **said,
    }


@pytest.fixture
def job(office) -> Job:
    job = factories.job()
    factories.forecast(job.site, factories.mild_hours(factories.NOW, hours=24 * 14))
    return job


@pytest.fixture
def walk(crew, mix, job):
    return typed(crew, mix, job)


def test_the_common_slab_takes_eight_fields_and_the_rest_stand_ready(page, walk, crew, mix, job):
    ready = fields_of(page.get(ADDRESS))
    eight = ("job", "day", "crew", "mix", "s0-length_m", "s0-width_m", "s0-depth_m")
    said = {**ready, **{name: walk[name] for name in eight}, "book": "1"}
    answer = page.post(ADDRESS, said)
    assert answer.status_code == 302, text_of(answer)
    pour = Pour.objects.get()
    assert pour.people == 5  # the whole crew
    assert pour.allowance_value == Company.objects.get().allowance_percent


def test_the_walk_is_booked_and_its_page_shows_the_numbers(page, walk):
    answer = page.post(ADDRESS, {**walk, "book": "1"}, follow=True)
    pour = Pour.objects.get()
    assert answer.redirect_chain == [(f"/pours/{pour.pk}/", 302)]
    text = text_of(answer)
    # 52 x 38 x 5/12 ft3 is 30.49 yd3; 5 % more is 32.02, and in quarter yards 32.25 (worked by hand).
    assert "32¼ yd³ of 4000-75-WR" in text
    assert "30.49 yd³" in text
    assert "3 loads of 10 yd³ and one of 2¼ yd³" in text
    assert "Crew on site 6:00 am" in text
    assert "First truck 7:00 am" in text
    section = SlabSection.objects.get()
    assert section.length_m == pytest.approx(52 * FT)
    assert section.fall_m == pytest.approx(2 * IN)
    assert pour.starts_at == datetime(2026, 9, 3, 12, 0, tzinfo=UTC)
    assert pour.crew.name == "Ash"
    assert pour.plan.order_m3 == pytest.approx(32.25 * 0.764554858)


def test_the_plan_is_shown_without_keeping_anything(page, walk):
    answer = page.post(ADDRESS, {**walk, "show": "1"})
    assert answer.status_code == 200
    text = text_of(answer)
    assert "The plan, not booked yet" in text
    assert "32¼ yd³ of 4000-75-WR" in text
    assert not Pour.objects.exists()
    assert not PlantOrder.objects.exists()
    assert fields_of(answer)["s0-length_m"] == "52'"


def test_a_new_job_and_its_site_are_made_with_the_pour(page, walk):
    new = {
        "job": "new",
        "new_job_name": "Barn floor",
        "new_address": "3 Elm St",
        "new_trucks_must_back": "on",
    }
    page.post(ADDRESS, {**walk, **new, "book": "1"})
    pour = Pour.objects.get()
    assert pour.job.name == "Barn floor"
    assert pour.job.site.address == "3 Elm St"
    assert pour.job.site.trucks_must_back
    assert pour.job.site.time_zone == Company.objects.get().time_zone


def test_a_new_job_is_planned_without_being_kept(page, walk):
    new = {"job": "new", "new_job_name": "Barn floor", "new_address": "3 Elm St"}
    before = Site.objects.count()
    assert "32¼ yd³" in text_of(page.post(ADDRESS, {**walk, **new, "show": "1"}))
    assert Site.objects.count() == before


def test_a_pour_that_is_refused_leaves_no_job_behind(page, walk):
    new = {"job": "new", "new_job_name": "Barn floor", "new_address": "3 Elm St", "day": "2026-08-20"}
    answer = page.post(ADDRESS, {**walk, **new, "book": "1"})
    assert answer.status_code == 400
    assert "already past" in text_of(answer)
    assert not Job.objects.filter(name="Barn floor").exists()


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        ("s0-length_m", "fifty", "This could not be read. Give a length such as"),
        ("s0-length_m", "52 psi", "psi is not a unit"),
        ("s0-width_m", "", "Give the width."),
        ("s0-depth_m", "0", "This must be more than nothing."),
        ("day", "", "Choose the day."),
        ("day", "2062-09-03", "That day is years away."),
        ("time", "25:00", "That is not a time."),
        ("mix", "", "Choose the mix."),
        ("mix", "999999", "not one of those there are"),
        ("job", "", "Choose the job, or a new one."),
        ("allowance_value", "80", "Give at most 50 %."),
        ("allowance_value", "", "Nothing is given."),
        ("people", "10000000000000000000000000000000", "Give a whole number from 1 to 60."),
        ("finishers", "", "Give a whole number from 1 to 60."),
        ("power_trowels", "two", "Give a whole number from 0 to 60."),
        ("haul_min", "nan", "Give a number from 0 to 600."),
    ],
)
def test_what_is_wrong_is_said_beside_the_field_and_everything_typed_stays(
    page, walk, field, value, sentence
):
    said = {**walk, "title": "bay two", field: value}
    answer = page.post(ADDRESS, {**said, "book": "1"})
    assert answer.status_code == 400
    assert sentence in text_of(answer)
    assert not Pour.objects.exists()
    kept = fields_of(answer)
    gone = {"mix", "job"} if value == "999999" else set()
    assert {name: kept[name] for name in said if name not in gone} == {
        name: value for name, value in said.items() if name not in gone
    }


def test_what_the_engine_refuses_is_said_beside_the_field(page, walk):
    crossed = {"s0-shape": "polygon", "s0-corners_m": "0, 0\n20, 20\n20, 0\n0, 20"}
    answer = page.post(ADDRESS, {**walk, **crossed, "show": "1"})
    assert answer.status_code == 400
    html = html_of(answer)
    assert "cross" in html[html.index('name="s0-corners_m"') :][:600]


def test_the_hour_the_clocks_jump_over_is_refused_beside_the_time(page, walk):
    # America/Chicago has no 2:30 on 14 March 2027 (IANA time zone database).
    answer = page.post(ADDRESS, {**walk, "day": "2027-03-14", "time": "02:30", "book": "1"})
    assert answer.status_code == 400
    assert "does not exist" in text_of(answer)


def test_adding_a_section_keeps_what_was_typed_and_complains_of_nothing(page, walk):
    answer = page.post(ADDRESS, {**walk, "s0-width_m": "", "add_section": "1"})
    assert answer.status_code == 200
    fields = fields_of(answer)
    assert fields["sections"] == "2"
    assert fields["s0-length_m"] == "52'"
    assert fields["s1-length_m"] == ""
    assert fields["hold_last_load"] == "on"
    assert "errorlist" not in html_of(answer)


def test_three_sections_of_three_shapes_are_booked(page, walk):
    said = {
        **walk,
        "sections": "4",
        "s1-shape": "circle", "s1-diameter_m": "22 ft", "s1-depth_kind": "uniform", "s1-depth_m": "6 1/4",
        "s2-shape": "polygon", "s2-corners_m": "0, 0\n24', 0\n24' x 16'\n0 x 16", "s2-depth_kind": "spots",
        "s2-spot_depths_m": "4, 4 1/4, 4 in",
        "s3-shape": "rectangle", "s3-depth_kind": "uniform", "s3-hole_count": "1",  # left blank
        "book": "1",
    }  # fmt: skip
    answer = page.post(ADDRESS, said)
    assert answer.status_code == 302, text_of(answer)
    _, circle, polygon = SlabSection.objects.order_by("position")
    assert circle.diameter_m == pytest.approx(22 * FT)
    assert polygon.corners_m[2] == pytest.approx([24 * FT, 16 * FT])
    assert polygon.spot_depths_m == pytest.approx([4 * IN, 4.25 * IN, 4 * IN])


def test_a_thickened_edge_and_openings_are_booked(page, walk):
    more = {
        "s0-edge_width_m": "12", "s0-edge_depth_m": "16 in",
        "s0-hole_length_m": "2' 6\"", "s0-hole_width_m": "2", "s0-hole_count": "3",
    }  # fmt: skip
    page.post(ADDRESS, {**walk, **more, "book": "1"})
    section = SlabSection.objects.get()
    assert section.edges.get().depth_m == pytest.approx(16 * IN)
    assert section.edges.get().length_m is None
    assert section.openings.get().length_m == pytest.approx(2.5 * FT)
    assert section.openings.get().count == 3


def test_an_edge_without_its_depth_is_asked_for(page, walk):
    answer = page.post(ADDRESS, {**walk, "s0-edge_width_m": "12", "book": "1"})
    assert "A thickened edge needs its depth too." in text_of(answer)


def test_an_allowance_of_depth_is_kept_in_metres(page, walk):
    page.post(ADDRESS, {**walk, "allowance_kind": "depth", "allowance_value": "3/8", "book": "1"})
    assert Pour.objects.get().allowance_value == pytest.approx(0.375 * IN)


def test_a_metric_company_leaves_out_metres_and_millimetres(page, walk):
    Company.objects.update(units="metric")
    said = {**walk, "s0-length_m": "15.8", "s0-width_m": "11,6", "s0-depth_m": "125", "s0-fall_m": "50"}
    page.post(ADDRESS, {**said, "book": "1"})
    section = SlabSection.objects.get()
    assert (section.length_m, section.width_m, section.depth_m) == pytest.approx((15.8, 11.6, 0.125))


# --- clashes ----------------------------------------------------------------------------------


def test_a_clash_is_shown_with_its_cure_and_nothing_is_booked(page, walk, pour):
    answer = page.post(ADDRESS, {**walk, "book": "1"})
    assert answer.status_code == 409
    text = text_of(answer)
    assert "10 needed, the crew has 5 people" in text
    assert f"{pour.job.name} at 7:00 am and this pour at 7:00 am" in text
    assert Pour.objects.count() == 1
    assert fields_of(answer)["s0-length_m"] == "52'"


def test_the_free_start_can_be_taken_with_a_button_and_then_books(page, walk, pour):
    first = page.post(ADDRESS, {**walk, "book": "1"})
    shown = fields_of(first)["shown"]  # that two jobs of nearly the same name are on that day
    html = html_of(page.post(ADDRESS, {**walk, "shown": shown, "book": "1"}))
    start = html.split('name="use_start" value="')[1].split('"')[0]
    again = page.post(ADDRESS, {**walk, "shown": shown, "use_start": start})
    fields = fields_of(again)
    assert f"{fields['day']}T{fields['time']}" == start
    booked = page.post(ADDRESS, {**fields, "book": "1"})
    assert booked.status_code == 302, text_of(booked)


def test_a_clash_is_shown_with_the_plan_before_anything_is_booked(page, walk, pour):
    answer = page.post(ADDRESS, {**walk, "show": "1"})
    text = text_of(answer)
    assert answer.status_code == 200
    assert "2 slabs to place at once" in text
    assert "this pour at 7:00 am" in text
    assert "2 slabs to place at once" not in text_of(
        page.post(ADDRESS, {**walk, "day": "2026-09-02", "show": "1"})
    )
    assert Pour.objects.count() == 1


def test_a_clash_is_booked_by_who_says_so_knowingly(page, walk, pour, office):
    assert page.post(ADDRESS, {**walk, "book_anyway": "1"}).status_code == 302
    booked = Pour.objects.latest("pk")
    assert booked.accepted_clashes.filter(accepted_by=office).exists()


def test_who_may_not_accept_a_clash_is_offered_no_button_for_it(page, walk, pour, monkeypatch):
    monkeypatch.setattr("scheduling.models.User.may", lambda self, right: right != Right.ASSIGN)
    answer = page.post(ADDRESS, {**walk, "book": "1"})
    assert answer.status_code == 409
    assert "book_anyway" not in html_of(answer)
    forced = page.post(ADDRESS, {**walk, "book_anyway": "1"})
    assert forced.status_code == 403
    assert Pour.objects.count() == 1


# --- the rest ---------------------------------------------------------------------------------


def test_without_a_company_it_says_what_is_missing(page):
    Company.objects.all().delete()
    assert "First, the company" in text_of(page.get(ADDRESS))


def test_a_job_and_a_day_may_come_with_the_link(page, job):
    fields = fields_of(page.get(ADDRESS, {"job": job.pk, "day": "2026-09-04"}))
    assert fields["job"] == str(job.pk)
    assert fields["day"] == "2026-09-04"
    assert fields["time"] == "07:00"


@pytest.mark.parametrize("count", ["", "-3", "zwei", "99999999999999999999", "٣"])
def test_a_spoiled_count_of_sections_does_no_harm(page, walk, count):
    assert page.post(ADDRESS, {**walk, "sections": count, "show": "1"}).status_code in (200, 400)

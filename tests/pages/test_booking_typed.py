"""What stands beside the booking form while it is typed."""

import re
from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from scheduling.models import Plant, PlantFee, Pour
from scheduling.roles import Role
from tests import factories
from tests.pages.conftest import THURSDAY
from tests.pages.reading import fields_of, html_of, text_of
from tests.pages.test_booking import ADDRESS, job, typed, walk  # noqa: F401

TYPED = "/pours/book/typed/"
STARTS = "/pours/book/starts/"
RULES = "/pours/book/rules/"
MOST_QUERIES = 20


def sentence_of(answer) -> str:
    return re.search(r'hx-swap-oob="innerHTML:#sentence">([^<]*)<', html_of(answer))[1]


def unread_of(answer) -> dict[str, str]:
    return dict(re.findall(r'<li data-field="([^"]+)">([^<]*)</li>', html_of(answer)))


def test_nothing_typed_asks_for_the_slab(page, office, mix):
    answer = page.post(TYPED, {"sections": "1"})
    assert answer.status_code == 200
    assert "Give a length, a width and a thickness" in sentence_of(answer)
    assert unread_of(answer) == {}


def test_a_slab_alone_tells_what_fills_its_forms_and_is_drawn(page, office, mix):
    said = {
        "sections": "1",
        "s0-length_m": "52'",
        "s0-width_m": "38'",
        "s0-depth_m": "5",
        "s0-shape": "rectangle",
    }
    answer = page.post(TYPED, {**said, "s0-depth_kind": "uniform"})
    # 52 x 38 x 5/12 ft3 is 30.49 yd3 (worked by hand)
    assert sentence_of(answer) == "30.49 yd³ fill the forms."
    assert "52&#x27; 0&quot;" in html_of(answer)
    assert "Still to say: the job, the day, the time and the mix." in text_of(answer)
    assert "Takes a trowel" not in text_of(answer)


def test_with_the_mix_the_order_its_loads_and_the_pace_are_told(page, walk):  # noqa: F811
    answer = page.post(TYPED, {**walk, "day": "", "job": ""})
    assert sentence_of(answer).startswith("Order 32¼ yd³: 3 loads of 10 yd³ and one of 2¼ yd³; ")
    text = text_of(answer)
    assert "sets the pace" in text
    assert "Crew on site" not in text
    assert "Still to say: the job and the day." in text


def test_everything_typed_is_one_sentence_with_trowel_and_cut(page, walk):  # noqa: F811
    said = sentence_of(page.post(TYPED, walk))
    assert re.search(r"trucks \d+ min apart; takes a trowel .+; first cut about .+\.$", said)
    assert not Pour.objects.exists()


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("s0-length_m", "52 psi", "psi is not a unit"),
        ("allowance_value", "lots", "could not be read"),
        ("day", "2062-09-03", "years away"),
    ],
)
def test_what_cannot_be_read_is_named_with_its_field_and_the_rest_is_told(
    page,
    walk,  # noqa: F811
    field,
    value,
    words,
):
    answer = page.post(TYPED, {**walk, field: value})
    unread = unread_of(answer)
    assert list(unread) == [field]
    assert words in unread[field]
    assert sentence_of(answer)


def test_what_is_still_empty_is_not_called_wrong(page, walk):  # noqa: F811
    assert (
        unread_of(page.post(TYPED, {**walk, "job": "", "mix": "", "s0-width_m": "", "finishers": ""})) == {}
    )


def test_a_second_section_half_typed_leaves_the_first_ones_plan(page, walk):  # noqa: F811
    said = {**walk, "sections": "2", "s1-shape": "rectangle", "s1-depth_kind": "uniform", "s1-length_m": "9"}
    answer = page.post(TYPED, said)
    assert "32¼ yd³" in sentence_of(answer)
    assert "the rest of the slab" in text_of(answer)


def test_a_clash_is_told_as_it_is_typed(page, walk, pour):  # noqa: F811
    answer = page.post(TYPED, walk)
    assert "clash" in sentence_of(answer)
    assert "10 needed, the crew has 5 people" in text_of(answer)


def test_a_pour_the_engine_cannot_plan_says_why(page, walk):  # noqa: F811
    crossed = {"s0-shape": "polygon", "s0-corners_m": "0, 0\n20, 20\n20, 0\n0, 20"}
    assert "cross" in sentence_of(page.post(TYPED, {**walk, **crossed}))


def test_the_plan_takes_few_queries_however_many_pours_there_are(page, walk, pour):  # noqa: F811
    page.post(TYPED, walk)
    with CaptureQueriesContext(
        connection,
    ) as few:
        page.post(TYPED, walk)
    for n in range(4):
        factories.pour(
            job=factories.job(), crew=pour.crew, plant=pour.plant, mix=pour.mix,
            starts_at=pour.starts_at.replace(hour=14 + n),
        )  # fmt: skip
    with CaptureQueriesContext(connection) as many:
        page.post(TYPED, walk)
    assert len(many) == len(few) <= MOST_QUERIES, "\n".join(one["sql"][:150] for one in many)


def test_other_hours_of_the_day_fill_the_start_in(page, walk):  # noqa: F811
    answer = page.post(STARTS, walk)
    starts = re.findall(r'name="fill" value="day=2026-09-03&amp;time=(\d\d)%3A00', html_of(answer))
    assert 1 < len(starts) <= 4
    assert "07" not in starts


def test_other_hours_wait_for_what_is_missing(page, walk):  # noqa: F811
    assert "missing" in text_of(page.post(STARTS, {**walk, "mix": ""}))


def test_rules_it_would_break_are_told_and_what_the_plant_asks_for_that_day(page, walk, crew):  # noqa: F811
    assert f'hx-post="{RULES}"' in html_of(page.post(TYPED, walk))
    assert text_of(page.post(RULES, walk)).strip() == ""
    away = {"starts_at": THURSDAY - timedelta(hours=7), "ends_at": THURSDAY + timedelta(hours=17)}
    factories.absence(worker=crew.workers.first(), **away)
    text = text_of(page.post(RULES, {**walk, "promised_by": "2026-09-02"}))
    assert "Ash: 5 people needed, 4 there while others are on leave" in text
    assert "Later than was promised to the customer" in text
    assert "Cures" not in text
    PlantFee.objects.create(plant=Plant.objects.get(), day="saturday", flat=120.0)
    on_saturday = text_of(page.post(RULES, {**walk, "day": "2026-09-05"}))
    assert "asks $120 more on that day." in on_saturday
    assert "Dearer on that day" in on_saturday


def test_rules_wait_for_what_is_missing(page, walk):  # noqa: F811
    assert text_of(page.post(RULES, {**walk, "mix": ""})).strip() == ""


@pytest.mark.parametrize("address", [TYPED, STARTS, RULES])
def test_only_those_who_book_are_answered(client, address, crew):
    assert client.post(address, {}).status_code == 302
    client.force_login(factories.user(Role.CREW_LEAD), backend="django.contrib.auth.backends.ModelBackend")
    assert client.post(address, {}).status_code == 403


def test_a_job_brings_what_it_was_booked_with_last(page, pour, job):  # noqa: F811
    fields = fields_of(page.get(ADDRESS, {"job": pour.job.pk}))
    assert fields["mix"] == str(pour.mix_id)
    assert fields["crew"] == str(pour.crew_id)
    assert fields["finish"] == pour.finish


# --- booked once ------------------------------------------------------------------------------


def test_a_second_press_books_nothing_twice(page, walk):  # noqa: F811
    said = {**walk, "key": fields_of(page.get(ADDRESS))["key"], "book": "1"}
    assert said["key"]
    first, second = page.post(ADDRESS, said), page.post(ADDRESS, said)
    assert Pour.objects.count() == 1
    assert first.url == second.url == f"/pours/{Pour.objects.get().pk}/"
    assert second.cookies["booked"].value == said["key"]


def test_another_pour_typed_after_going_back_is_one_more(page, walk):  # noqa: F811
    said = {**walk, "key": "one-page", "book": "1"}
    page.post(ADDRESS, said)
    page.post(ADDRESS, {**said, "day": "2026-09-04"})
    assert Pour.objects.count() == 2
    assert Pour.objects.filter(booking_key="one-page").count() == 1


def test_every_fresh_page_has_a_key_of_its_own(page, walk):  # noqa: F811
    keys = {fields_of(page.get(ADDRESS))["key"] for _ in range(3)}
    assert len(keys) == 3

"""A person's calendar: who may fetch it, what is in it, and that other programs read it right."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
import time_machine
import vobject
from django.test import Client
from icalendar import Calendar

from scheduling.models import CalendarLink
from scheduling.services import booking, calendars
from tests import factories
from tests.pages.conftest import THURSDAY, signed_in
from tests.pages.reading import text_of

DAY = timedelta(days=1)


@pytest.fixture
def secret(office):
    return calendars.make_link(person=office, now=factories.NOW)


def fetched(secret, **headers):
    answer = Client().get(f"/calendar/{secret}.ics", headers=headers)
    assert answer.status_code == 200
    return answer


def entries(secret):
    """By another library than wrote it."""
    return getattr(vobject.readOne(fetched(secret).content.decode()), "vevent_list", [])


def entry(secret):
    (only,) = entries(secret)
    return only


def test_a_pour_is_there_from_its_first_truck_with_crew_place_and_loads(secret, book):
    pour = book(
        job=factories.job(name="Garage", site=factories.site(name="Mill Rd", address="14 Mill Rd; rear"))
    )
    one = entry(secret)
    assert one.summary.value == "Garage (Ash)"
    assert one.location.value == "Mill Rd, 14 Mill Rd; rear"
    assert one.status.value == "CONFIRMED"
    assert one.dtstart.value == THURSDAY
    assert one.dtend.value > pour.plan.placed_at
    assert one.url.value.endswith(f"/pours/{pour.pk}/")
    lines = one.description.value.split("\n")
    assert lines[:2] == ["Crew on site 6:00 am", "First truck 7:00 am (CDT)"]
    assert "32¼ yd³ of 4000-75-WR" in lines[2]


@pytest.mark.parametrize(
    ("day", "zone", "utc_hour"),
    [
        ((2026, 10, 31), "America/New_York", 11),
        ((2026, 11, 2), "America/New_York", 12),
        ((2027, 3, 13), "America/Chicago", 13),
        ((2027, 3, 15), "America/Chicago", 12),
        ((2026, 11, 2), "America/Phoenix", 14),
    ],
)
def test_seven_on_the_sites_clock_is_the_right_moment_on_both_sides_of_a_clock_change(
    secret, book, day, zone, utc_hour
):
    # Another calendar program wrote EST as a zone's name, and phones showed the hour wrong
    seven = datetime(*day, 7, tzinfo=ZoneInfo(zone))
    book(job=factories.job(site=factories.site(time_zone=zone)), starts_at=seven.astimezone(UTC))
    body = fetched(secret).content.decode()
    assert f"DTSTART:{datetime(*day):%Y%m%d}T{utc_hour:02}0000Z" in body
    assert "TZID" not in body
    assert entry(secret).dtstart.value == seven


def test_an_entry_keeps_its_name_for_life_and_counts_up_with_each_change(secret, book, office):
    pour = book()
    seen = [entry(secret)]
    booking.move_pour(pour=pour, version=1, starts_at=THURSDAY + DAY, by=office, now=factories.NOW + DAY / 24)
    seen.append(entry(secret))
    booking.hold_pour(pour=pour, version=2, reason="forms", by=office, now=factories.NOW + DAY / 12)
    seen.append(entry(secret))
    booking.cancel_pour(pour=pour, version=3, reason="gone", by=office, now=factories.NOW + DAY / 8)
    seen.append(entry(secret))
    assert len({one.uid.value for one in seen}) == 1
    counted = [int(one.sequence.value) for one in seen]
    assert counted == sorted(set(counted))
    assert [one.status.value for one in seen] == ["CONFIRMED", "CONFIRMED", "TENTATIVE", "CANCELLED"]
    assert seen[1].dtstart.value == THURSDAY + DAY
    assert seen[3].summary.value.startswith("CANCELLED: ")
    stamps = [one.dtstamp.value for one in seen]
    assert stamps == sorted(set(stamps))


def test_weather_that_changes_the_plan_counts_up_too(secret, book, office):
    pour = book()
    before = int(entry(secret).sequence.value)
    booking.replan_pour(pour=pour, version=1, by=None, now=factories.NOW)
    assert int(entry(secret).sequence.value) > before


def test_what_is_cancelled_is_marked_for_seven_days_and_then_gone(secret, book, office):
    pour = book(starts_at=THURSDAY + 20 * DAY)
    booking.cancel_pour(pour=pour, version=1, reason="gone", by=office, now=factories.NOW)
    for days, there in ((0, True), (7, True), (8, False)):
        with time_machine.travel(factories.NOW + days * DAY, tick=False):
            assert bool(entries(secret)) is there


def test_no_method_is_said_where_nobody_is_invited(secret, pour):
    calendar = Calendar.from_ical(fetched(secret).content)
    assert "METHOD" not in calendar
    assert calendar.errors == []
    for one in calendar.walk("VEVENT"):
        assert one.errors == []
        assert {"UID", "DTSTAMP", "DTSTART", "SEQUENCE"} <= set(one)


def test_lines_are_folded_and_ended_as_the_standard_has_them(secret, book):
    # RFC 5545, 3.1: lines of at most 75 octets, ended by CR and LF
    book(job=factories.job(name="Überlange Halle " * 6))
    body = fetched(secret).content
    assert all(len(line) <= 75 for line in body.split(b"\r\n"))
    assert b"\n" not in body.replace(b"\r\n", b"")
    assert entry(secret).summary.value.startswith("Überlange Halle Überlange")


def test_a_lead_gets_the_own_crews_pours_alone(book, crew):
    mine, _ = book(), book(crew=factories.crew(name="Birch"), job=factories.job(name="Secret barn"))
    secret = calendars.make_link(person=crew.lead, now=factories.NOW)
    assert [one.summary.value for one in entries(secret)] == [f"{mine.job.name} (Ash)"]


def test_who_lost_the_right_or_left_gets_nothing(office, pour, secret):
    office.is_active = False
    office.save()
    assert Client().get(f"/calendar/{secret}.ics").status_code == 404


def test_a_link_that_was_taken_back_or_replaced_opens_nothing(page, office, secret):
    other = calendars.make_link(person=office, now=factories.NOW)
    assert Client().get(f"/calendar/{secret}.ics").status_code == 404
    assert Client().get(f"/calendar/{other}.ics").status_code == 200
    page.post("/calendar/take-back/")
    assert Client().get(f"/calendar/{other}.ics").status_code == 404
    assert Client().get("/calendar/guessed.ics").status_code == 404


def test_what_did_not_change_is_not_sent_again(secret, pour, office):
    first = fetched(secret)
    for headers in (
        {"if-none-match": first["ETag"]},
        {"if-modified-since": first["Last-Modified"]},
    ):
        again = Client().get(f"/calendar/{secret}.ics", headers=headers)
        assert (again.status_code, again.content) == (304, b"")
    later = factories.NOW + timedelta(minutes=5)
    booking.hold_pour(pour=pour, version=1, reason="forms", by=office, now=later)
    for headers in (
        {"if-none-match": first["ETag"]},
        {"if-modified-since": first["Last-Modified"]},
    ):
        assert fetched(secret, **headers)["ETag"] != first["ETag"]


def test_the_same_pours_give_the_same_bytes_at_another_hour_of_the_day(secret, pour):
    first = fetched(secret)
    with time_machine.travel(factories.NOW + timedelta(hours=2), tick=False):
        assert fetched(secret).content == first.content


def test_the_number_of_questions_to_the_database_does_not_grow_with_the_pours(
    secret, book, django_assert_max_num_queries
):
    for n in range(4):
        book(starts_at=THURSDAY + n * DAY)
    with django_assert_max_num_queries(7):
        fetched(secret)


# --- the page ---------------------------------------------------------------------------------


def test_a_link_is_shown_once_and_kept_as_a_digest_alone(page, office):
    assert "No link yet" in text_of(page.get("/calendar/"))
    answer = page.post("/calendar/link/")
    address = answer.context["address"]
    assert address in answer.content.decode()
    assert answer["Cache-Control"] == "no-store"
    secret = address.rsplit("/", 1)[1].removesuffix(".ics")
    assert len(secret) >= 43  # 256 bits
    assert secret not in str(CalendarLink.objects.values().get())
    assert address not in page.get("/calendar/").content.decode()
    assert "no calendar has asked yet" in text_of(page.get("/calendar/"))
    fetched(secret)
    assert "a calendar last asked about" in text_of(page.get("/calendar/"))


def test_the_address_is_the_one_people_reach_the_service_by(page, settings):
    settings.PUBLIC_URL = "https://pours.example"
    assert page.post("/calendar/link/").context["address"].startswith("https://pours.example/calendar/")


def test_a_lead_has_a_calendar_and_a_stranger_does_not(crew):
    assert "The pours of your crew" in text_of(signed_in(crew.lead).get("/calendar/"))
    for answer in (Client().get("/calendar/"), Client().post("/calendar/link/")):
        assert answer["Location"].startswith("/sign-in/")
    assert not CalendarLink.objects.exists()
    assert signed_in(crew.lead).get("/calendar/link/").status_code == 405

"""Asking a service on the web, against one on this machine that answers well, badly, late or not at all."""

import gzip
from dataclasses import replace
from datetime import timedelta
from time import monotonic
from types import SimpleNamespace

import pytest

from scheduling.weather.web import (
    Manners,
    NoSuchPlace,
    Page,
    WeatherUnavailable,
    Web,
    fresh_until,
    rest_asked,
)
from tests.weather.server import NOW, Reply

QUICK = Manners(
    user_agent="Pourplan (office@kaw.example)",
    connect_s=0.5,
    read_s=0.2,
    whole_s=0.5,
    pause_s=0.01,
    longest_pause_s=0.2,
    most_bytes=20_000,
)
PATH = "/forecast"


def nothing_kept(url):
    return None


def asked(service, *replies, kept=nothing_kept, **manners) -> Page:
    if replies:
        service.answers(PATH, *replies)
    web = Web(service.url, replace(QUICK, **manners), kept, NOW)
    return web.page(service.url + PATH)


def kept_page(service, **changed) -> Page:
    told = {"etag": '"v1"', "last_modified": "Mon, 11 May 2026 08:00:00 GMT"}
    url = service.url + PATH
    facts = {"url": url, "body": "old", "checked_at": NOW, "fresh_until": NOW, **told, **changed}
    return Page(**facts)


def test_a_page_is_read_and_says_who_asks(service):
    page = asked(service, Reply("hello", headers={"ETag": '"v1"', "Cache-Control": "max-age=900"}))
    assert (page.body, page.etag, page.fresh_until) == ("hello", '"v1"', NOW + timedelta(seconds=900))
    ((_, headers),) = service.asked
    assert headers["user-agent"] == "Pourplan (office@kaw.example)"
    assert "if-none-match" not in headers


def test_a_page_that_is_still_fresh_is_not_asked_for(service):
    kept = kept_page(service, fresh_until=NOW + timedelta(seconds=1))
    assert asked(service, Reply("new"), kept=lambda url: kept) == kept
    assert service.asked == []


def test_an_older_page_is_asked_for_only_if_it_changed(service):
    kept = kept_page(service)
    page = asked(service, Reply(status=304, headers={"Cache-Control": "max-age=60"}), kept=lambda url: kept)
    ((_, headers),) = service.asked
    assert headers["if-none-match"] == '"v1"'
    assert headers["if-modified-since"] == "Mon, 11 May 2026 08:00:00 GMT"
    assert (page.body, page.etag, page.fresh_until) == ("old", '"v1"', NOW + timedelta(minutes=1))


def test_a_changed_page_takes_the_place_of_the_kept_one(service):
    assert asked(service, Reply("new"), kept=lambda url: kept_page(service)).body == "new"


def test_not_modified_without_anything_kept_is_a_refusal(service):
    with pytest.raises(WeatherUnavailable, match="304"):
        asked(service, Reply(status=304))


def test_a_fault_that_passes_is_asked_again(service):
    assert asked(service, Reply("", 503), Reply("", 500), Reply("good")).body == "good"
    assert len(service.asked) == 3


@pytest.mark.parametrize("status", [429, 500, 502, 503, 504])
def test_a_fault_that_stays_is_given_up_after_three_tries(service, status):
    with pytest.raises(WeatherUnavailable, match=str(status)) as failed:
        asked(service, Reply("", status))
    assert (len(service.asked), failed.value.rest) == (3, None)


def test_a_short_rest_asked_for_is_kept_before_the_next_try(service, monkeypatch):
    rests = []
    monkeypatch.setattr(
        "scheduling.weather.web.time", SimpleNamespace(sleep=rests.append, monotonic=monotonic)
    )
    page = asked(service, Reply("", 503, {"Retry-After": "1"}), Reply("good"), longest_pause_s=2)
    assert (page.body, rests) == ("good", [1.0])


def test_without_a_word_on_it_the_rest_doubles(service, monkeypatch):
    rests = []
    monkeypatch.setattr(
        "scheduling.weather.web.time", SimpleNamespace(sleep=rests.append, monotonic=monotonic)
    )
    asked(service, Reply("", 503), Reply("", 503), Reply("good"), pause_s=0.05)
    assert rests == [0.05, 0.1]


def test_a_service_that_asks_for_a_long_rest_gets_it(service):
    with pytest.raises(WeatherUnavailable) as failed:
        asked(service, Reply("", 503, {"Retry-After": "1800"}))
    assert (len(service.asked), failed.value.rest) == (1, timedelta(minutes=30))


@pytest.mark.parametrize("status", [400, 401, 403, 410, 204])
def test_a_refusal_is_not_asked_again(service, status):
    with pytest.raises(WeatherUnavailable, match=str(status)):
        asked(service, Reply("", status))
    assert len(service.asked) == 1


def test_a_place_the_service_does_not_know_is_told_apart(service):
    with pytest.raises(NoSuchPlace):
        asked(service, Reply({"title": "Data Unavailable For Requested Point", "status": 404}, 404))


def test_a_service_that_does_not_answer_is_given_up(service):
    with pytest.raises(WeatherUnavailable, match="in time"):
        asked(service, Reply("late", wait_s=0.6), tries=1)


def test_a_service_that_answers_a_byte_at_a_time_is_given_up(service):
    with pytest.raises(WeatherUnavailable, match="too long"):
        asked(service, Reply("x" * 100, drip_s=0.05), tries=1, whole_s=0.3)
    assert len(service.asked) == 1


def test_a_service_that_is_away_is_given_up(service):
    service.stop()
    with pytest.raises(WeatherUnavailable, match="cannot be reached"):
        asked(service)


def test_an_answer_that_breaks_off_is_not_taken(service):
    with pytest.raises(WeatherUnavailable, match="breaks off"):
        asked(service, Reply("half", claims=100))


def test_an_answer_too_long_to_be_a_forecast_is_not_read_to_its_end(service):
    with pytest.raises(WeatherUnavailable, match="too long to be"):
        asked(service, Reply("x" * 20_001))
    assert asked(service, Reply("x" * 20_000)).body == "x" * 20_000


def test_a_small_answer_that_unpacks_to_a_huge_one_is_not_read_to_its_end(service, monkeypatch):
    packed = gzip.compress(b"x" * 5_000_000)
    monkeypatch.setattr(Reply, "sent", property(lambda self: packed))
    with pytest.raises(WeatherUnavailable, match="too long to be"):
        asked(service, Reply(headers={"Content-Encoding": "gzip"}))


def test_a_packed_answer_is_unpacked(service, monkeypatch):
    packed = gzip.compress("20 °C".encode())
    monkeypatch.setattr(Reply, "sent", property(lambda self: packed))
    assert asked(service, Reply(headers={"Content-Encoding": "gzip"})).body == "20 °C"


def test_a_page_that_has_moved_on_the_same_host_is_followed(service):
    service.answers("/new", Reply("moved here"))
    page = asked(service, Reply("", 301, {"Location": "/new"}))
    assert (page.body, page.url) == ("moved here", service.url + PATH)


def test_a_page_that_moves_to_another_host_is_not_followed(service, other_service):
    other_service.answers("/trap", Reply("never read"))
    with pytest.raises(WeatherUnavailable, match="not ours to ask"):
        asked(service, Reply("", 302, {"Location": f"{other_service.url}/trap"}))
    assert other_service.asked == []


@pytest.mark.parametrize(
    "address",
    [
        "http://elsewhere.example/x",
        "https://127.0.0.1/x",
        "http://127.0.0.1@elsewhere.example/x",
        "ftp://127.0.0.1/x",
        "file:///etc/passwd",
        "/only/a/path",
        "http://127.0.0.1:99999/",
        "http://[broken/",
    ],
)
def test_no_address_but_the_services_own_is_asked(service, address):
    with pytest.raises(WeatherUnavailable):
        Web(service.url, QUICK, nothing_kept, NOW).page(address)
    assert service.asked == []


def test_pages_that_send_us_in_a_circle_are_given_up(service):
    with pytest.raises(WeatherUnavailable, match="page to page"):
        asked(service, Reply("", 302, {"Location": PATH}))
    assert len(service.asked) == 4


@pytest.mark.parametrize(
    ("headers", "fresh_s"),
    [
        ({"Cache-Control": "public, max-age=900"}, 900),
        ({"Cache-Control": 'max-age="60"', "Expires": "Mon, 11 May 2026 23:00:00 GMT"}, 60),
        ({"Cache-Control": "max-age=900", "Age": "300"}, 600),
        ({"Cache-Control": "max-age=100", "Age": "300"}, 0),
        ({"Cache-Control": "no-cache, max-age=900"}, 0),
        ({"Cache-Control": "no-store"}, 0),
        ({"Cache-Control": "max-age=99999999999"}, 86400),
        ({"Cache-Control": "max-age=soon"}, 600),
        ({"Expires": "Mon, 11 May 2026 11:30:00 GMT", "Date": "Mon, 11 May 2026 11:10:00 GMT"}, 1200),
        ({"Expires": "Mon, 11 May 2026 11:30:00 GMT"}, 600),
        ({"Expires": "Mon, 11 May 2026 10:00:00 GMT"}, 0),
        ({"Expires": "0"}, 0),
        ({}, 600),
    ],
)
def test_how_long_a_page_serves_is_for_the_service_to_say(headers, fresh_s):
    # RFC 9111, sections 4.2.1, 5.1, 5.2.2 and 5.3; ten minutes without a word and a day at most are our
    # choice.
    assert fresh_until(headers, NOW) == NOW + timedelta(seconds=fresh_s)


@pytest.mark.parametrize(
    ("said", "rest"),
    [
        ("120", timedelta(minutes=2)),
        ("Mon, 11 May 2026 11:50:00 GMT", timedelta(minutes=30)),
        ("Mon, 11 May 2026 08:00:00 GMT", timedelta(0)),
        ("99999999", timedelta(hours=6)),
        ("-5", None),
        ("later", None),
        ("", None),
    ],
)
def test_a_rest_is_told_in_seconds_or_as_a_moment(said, rest):
    # RFC 9110, section 10.2.3; six hours at most is our choice.
    assert rest_asked(said, NOW) == rest


def test_a_mark_too_long_to_keep_is_not_sent_back_cut_short(service):
    assert asked(service, Reply("x", headers={"ETag": f'"{"v" * 300}"'})).etag == ""

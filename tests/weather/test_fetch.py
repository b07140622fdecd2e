"""A forecast for a place from each service, also when a part of it is late, old, broken or absurd."""

import copy
import json
from dataclasses import replace
from datetime import timedelta

import pytest

from scheduling.weather.document import WeatherUnreadable
from scheduling.weather.fetch import FETCHERS, Spot, fetch_nws, fetch_open_meteo, spot_of
from scheduling.weather.web import NoSuchPlace, WeatherUnavailable, Web
from tests.weather.server import NOW, Reply, columns, grid, hourly, layer, points
from tests.weather.test_web import QUICK, nothing_kept

POINTS, GRID, HOURLY = "/points/38.88,-94.82", "/gridpoints/ABC/1,2", "/gridpoints/ABC/1,2/forecast/hourly"
COLUMNS = "/v1/forecast"
SPOT = Spot("38.88", "-94.82")


@pytest.fixture
def nws(service):
    """The service in good health."""
    service.answers(POINTS, Reply(points(service.url)))
    service.answers(GRID, Reply(grid()))
    service.answers(HOURLY, Reply(hourly()))
    return service


@pytest.fixture
def open_data(service):
    service.answers(COLUMNS, Reply(columns()))
    return service


def fetched(service, fetch=fetch_nws, kept=nothing_kept, now=NOW):
    return fetch(Web(service.url, replace(QUICK, most_bytes=1_000_000), kept, now), service.url, SPOT, now)


def at(hours, moment=NOW):
    """The hour that holds the moment."""
    return next(hour for hour in hours if hour.at <= moment < hour.at + timedelta(hours=1))


def test_the_two_services_are_there_to_choose_from():
    assert set(FETCHERS) == {"nws", "open_meteo"}


@pytest.mark.parametrize(
    ("latitude", "longitude", "said"),
    [
        (38.8812, -94.8191, "38.88,-94.82"),
        (38.9, -94.0, "38.9,-94"),
        (-0.001, 0.001, "0,0"),
        (-33.8688, 151.2093, "-33.87,151.21"),
        (90.0, -180.0, "90,-180"),
        (10.0, 100.0, "10,100"),
    ],
)
def test_a_place_is_asked_for_to_a_hundredth_of_a_degree_without_trailing_zeros(latitude, longitude, said):
    # The service takes at most four decimals and sends trailing zeros on (weather.gov API, general FAQ).
    assert str(spot_of(latitude, longitude)) == said


def test_the_point_says_where_the_forecast_is(nws):
    got = fetched(nws)
    assert nws.paths == [POINTS, GRID, HOURLY]
    assert [page.url for page in got.pages] == [nws.url + path for path in (POINTS, GRID, HOURLY)]


def test_grid_and_hourly_are_read_as_one_forecast(nws):
    nws.answers(GRID, Reply(grid(windSpeed=layer("km_h-1", lambda n: None, NOW, 96))))
    hour = at(fetched(nws).hours, NOW + timedelta(hours=3))
    assert (hour.air_c, hour.cloud, hour.rain_mm, hour.thunder_chance) == (20.0, 0.5, 0.0, 0.0)
    assert hour.wind_10m_m_s == pytest.approx(10 * 0.44704)  # the grid has none, the periods say 5 to 10 mph


def test_what_the_grid_tells_goes_before_the_periods(nws):
    nws.answers(GRID, Reply(grid(air_c=31.0)))
    assert at(fetched(nws).hours).air_c == 31.0


@pytest.mark.parametrize(
    "reply",
    [
        Reply("", 503),
        Reply("", 404),
        Reply("<html><body>Bad gateway</body></html>"),
        Reply(json.dumps(grid())[:5000]),
        Reply(grid(made_h=25)),
        Reply({"title": "Unexpected Problem", "status": 500}),
        Reply("late", wait_s=0.5),
    ],
    ids=["away", "not there", "page of HTML", "cut short", "a day old", "error document", "late"],
)
def test_one_of_the_two_is_enough(nws, reply):
    nws.answers(GRID, reply)
    got = fetched(nws)
    assert at(got.hours).air_c == pytest.approx(20.0)
    assert [page.url.removeprefix(nws.url) for page in got.pages] == [POINTS, HOURLY]


def test_neither_of_the_two_is_no_forecast(nws):
    nws.answers(GRID, Reply("", 500))
    nws.answers(HOURLY, Reply("<html>"))
    with pytest.raises(WeatherUnavailable, match="500"):
        fetched(nws)


def test_a_point_outside_the_country_is_no_place_of_the_service(service):
    service.answers(POINTS, Reply({"title": "Data Unavailable For Requested Point", "status": 404}, 404))
    with pytest.raises(NoSuchPlace):
        fetched(service)


@pytest.mark.parametrize(
    "named", ["http://elsewhere.example/grid", "https://api.weather.gov/gridpoints/A/1,2"]
)
def test_a_point_that_names_another_host_is_refused(nws, named):
    nws.answers(POINTS, Reply(points(nws.url, forecastGridData=named, forecastHourly=named)))
    with pytest.raises(WeatherUnavailable, match="not ours to ask"):
        fetched(nws)
    assert nws.paths == [POINTS]


def test_another_host_on_this_machine_is_refused_too(nws, other_service):
    named = other_service.url + GRID
    nws.answers(POINTS, Reply(points(nws.url, forecastGridData=named, forecastHourly=named)))
    with pytest.raises(WeatherUnavailable, match="not ours to ask"):
        fetched(nws)
    assert other_service.asked == []


@pytest.mark.parametrize("told", [None, 5, ["x"], {}])
def test_a_point_that_says_nothing_useful_is_refused(nws, told):
    nws.answers(POINTS, Reply(points(nws.url, forecastGridData=told)))
    with pytest.raises(WeatherUnreadable):
        fetched(nws)


def test_a_point_with_trailing_zeros_is_followed_where_it_is_sent_on(nws):
    nws.answers(POINTS, Reply("", 301, {"Location": "/points/elsewhere"}))
    nws.answers("/points/elsewhere", Reply(points(nws.url)))
    assert fetched(nws).hours


@pytest.mark.parametrize("fetch", [fetch_nws, fetch_open_meteo], ids=["nws", "open_meteo"])
@pytest.mark.parametrize(
    "reply",
    [
        Reply("<!doctype html><title>503</title>"),
        Reply("{"),
        Reply("[1, 2]"),
        Reply("null"),
        Reply(""),
        Reply("5"),
        Reply({}),
        Reply("[" * 100_000, headers={"Content-Type": "application/json"}),
    ],
    ids=["html", "brace", "list", "null", "empty", "number", "no names", "deep"],
)
def test_what_is_no_forecast_is_refused_and_never_breaks(service, fetch, reply):
    for path in (POINTS, COLUMNS):
        service.answers(path, reply)
    with pytest.raises((WeatherUnreadable, WeatherUnavailable)):
        fetched(service, fetch)


def test_a_forecast_the_service_made_a_day_ago_is_refused(nws):
    nws.answers(GRID, Reply(grid(made_h=24.5)))
    nws.answers(HOURLY, Reply(hourly(made_h=24.5)))
    with pytest.raises(WeatherUnreadable, match="24 hours old"):
        fetched(nws)
    nws.answers(GRID, Reply(grid(made_h=23.9)))
    assert fetched(nws).hours


@pytest.mark.parametrize("told", [None, "yesterday", 5])
def test_a_forecast_that_does_not_say_when_it_was_made_is_taken(nws, told):
    document = grid()
    document["properties"]["updateTime"] = told
    nws.answers(GRID, Reply(document))
    assert nws.url + GRID in [page.url for page in fetched(nws).pages]


def test_a_forecast_of_days_past_is_refused(open_data):
    with pytest.raises(WeatherUnreadable, match="days past"):
        fetched(open_data, fetch_open_meteo, now=NOW + timedelta(hours=96))


def test_absurd_values_are_left_out_and_the_rest_is_taken(nws):
    nws.answers(
        GRID,
        Reply(
            grid(
                windSpeed=layer("km_h-1", lambda n: 9999, NOW, 96),
                skyCover=layer("percent", lambda n: -80, NOW, 96),
            )
        ),
    )
    nws.answers(HOURLY, Reply(hourly(windSpeed="900 mph")))
    hour = at(fetched(nws).hours, NOW + timedelta(hours=2))
    assert (hour.air_c, hour.wind_10m_m_s, hour.cloud) == (20.0, None, None)


def test_a_forecast_in_which_no_temperature_can_be_is_refused(nws):
    nws.answers(GRID, Reply(grid(air_c=4000.0)))
    nws.answers(HOURLY, Reply(hourly(air_f=-900)))
    with pytest.raises(WeatherUnreadable, match="no temperature"):
        fetched(nws)


def test_a_unit_nobody_knows_costs_its_values(nws):
    # A unit is renamed without notice now and then; to read it as another would be worse than not at all.
    nws.answers(GRID, Reply(grid(windSpeed=layer("furlong_d-1", lambda n: 10, NOW, 96))))
    nws.answers(HOURLY, Reply(hourly(windSpeed="Breezy")))
    assert at(fetched(nws).hours, NOW + timedelta(hours=2)).wind_10m_m_s is None


def test_pages_still_fresh_are_not_asked_for_again(nws):
    shelf = {page.url: page for page in fetched(nws).pages}
    before = len(nws.asked)
    again = fetched(nws, kept=shelf.get, now=NOW + timedelta(minutes=9))
    assert len(nws.asked) == before
    assert again.hours == fetched(nws).hours


def test_pages_that_did_not_change_are_read_as_they_were_kept(nws):
    for path, body in ((GRID, grid()), (HOURLY, hourly())):
        nws.answers(path, Reply(body, headers={"ETag": '"v1"'}), Reply("", 304))
    shelf = {page.url: page for page in fetched(nws).pages}
    later = NOW + timedelta(hours=1)
    again = fetched(nws, kept=shelf.get, now=later)
    assert [page.checked_at for page in again.pages] == [later] * 3
    assert again.hours == fetched(nws, kept=shelf.get).hours


def test_a_service_that_says_for_a_day_that_nothing_changed_is_not_believed(nws):
    for path, body in ((GRID, grid()), (HOURLY, hourly())):
        nws.answers(path, Reply(body, headers={"ETag": '"v1"'}), Reply("", 304))
    shelf = {page.url: page for page in fetched(nws).pages}
    with pytest.raises(WeatherUnreadable, match="hours old"):
        fetched(nws, kept=shelf.get, now=NOW + timedelta(hours=24))


def test_the_open_data_service_is_asked_for_the_columns_we_read(open_data):
    hours = fetched(open_data, fetch_open_meteo).hours
    ((path, _),) = open_data.asked
    assert path.startswith(
        "/v1/forecast?latitude=38.88&longitude=-94.82&hourly=temperature_2m,relative_humidity_2m,"
    )
    assert path.endswith("&timezone=GMT&forecast_days=10")
    assert at(hours).wind_10m_m_s == pytest.approx(3.0)


def test_an_error_of_the_open_data_service_is_told(open_data):
    open_data.answers(COLUMNS, Reply({"error": True, "reason": "Minutely API request limit exceeded"}))
    with pytest.raises(WeatherUnreadable, match="limit exceeded"):
        fetched(open_data, fetch_open_meteo)


def test_columns_of_unequal_length_are_refused(open_data):
    document = copy.deepcopy(columns())
    document["hourly"]["temperature_2m"].pop()
    open_data.answers(COLUMNS, Reply(document))
    with pytest.raises(WeatherUnreadable, match="temperature_2m"):
        fetched(open_data, fetch_open_meteo)


def test_nulls_at_the_far_end_stay_unknown(open_data):
    document = columns()
    document["hourly"]["temperature_2m"][-1] = None
    open_data.answers(COLUMNS, Reply(document))
    assert fetched(open_data, fetch_open_meteo).hours[-1].air_c is None

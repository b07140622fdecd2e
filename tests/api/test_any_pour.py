"""Whatever slab, people, plant and weather are asked about, the answer is a whole plan or a plain refusal."""

from datetime import datetime, timedelta
from typing import Any

import pytest
from django.core.cache import cache
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests import factories

pytestmark = pytest.mark.django_db

LENGTHS = {"ft": (1, 200), "m": (0.5, 60), "in": (12, 2000)}
SMALL = {"ft": (0.1, 2), "in": (1, 24)}
DEPTHS = {"in": (2, 12), "mm": (50, 300), "cm": (5, 30)}
DIGS = {"in": (12, 36), "cm": (31, 90)}


@st.composite
def quantity(draw, units: dict[str, tuple[float, float]]) -> Any:
    """An amount in one of the units, apart or as one text."""
    unit = draw(st.sampled_from(sorted(units)))
    value = round(draw(st.floats(*units[unit])), 3)
    return draw(st.sampled_from([{"value": value, "unit": unit}, f"{value} {unit}"]))


def length():
    return quantity(LENGTHS)


def depth():
    return quantity(DEPTHS)


@st.composite
def outline(draw) -> dict:
    shapes = {
        "rectangle": ("length", "width"),
        "trapezoid": ("length", "side_b", "width"),
        "circle": ("diameter",),
    }
    shape = draw(st.sampled_from([*shapes, "area", "polygon"]))
    if shape == "area":
        return {"shape": shape, "area": draw(quantity({"ft2": (1, 50_000), "m2": (0.5, 5000)}))}
    if shape == "polygon":
        corners = st.lists(st.tuples(length(), length()).map(list), min_size=3, max_size=4)
        return {"shape": shape, "corners": draw(corners)}
    return {"shape": shape, **{name: draw(length()) for name in shapes[shape]}}


@st.composite
def thickness(draw) -> dict:
    kind = draw(st.sampled_from(["uniform", "falling_top", "falling_base", "spots"]))
    if kind == "spots":
        return {"depth_kind": kind, "spot_depths": draw(st.lists(depth(), min_size=1, max_size=9))}
    falls = {}
    if kind != "uniform":
        falls = {"fall": draw(depth()), "falls_towards_deg": draw(st.floats(-360, 360))}
    return {"depth_kind": kind, "depth": draw(depth()), **falls}


edges = st.fixed_dictionaries(
    {"width": quantity(SMALL), "depth": quantity(DIGS)},
    optional={"length": length(), "taper": quantity(SMALL)},
)
holes = st.one_of(
    st.fixed_dictionaries({"shape": st.just("circle"), "diameter": quantity(SMALL)}),
    st.fixed_dictionaries({"length": quantity(SMALL), "width": quantity(SMALL)}),
)
openings = st.tuples(holes, st.integers(1, 3)).map(lambda hole: {**hole[0], "count": hole[1]})


@st.composite
def section(draw) -> dict:
    more = st.fixed_dictionaries(
        {},
        optional={
            "label": st.text(st.characters(codec="utf-8", exclude_characters="\0"), max_size=20),
            "drawn_depth": depth(),
            "edges": st.lists(edges, max_size=2),
            "openings": st.lists(openings, max_size=2),
        },
    )
    return {**draw(outline()), **draw(thickness()), **draw(more)}


percent = quantity({"%": (0, 100)})
minutes = quantity({"min": (1, 300), "h": (0.1, 5)})
temperature = quantity({"F": (33, 112), "C": (1, 44)})

mixes = st.fixed_dictionaries(
    {"strength": quantity({"psi": (500, 12_000), "MPa": (5, 90)}), "aggregate": quantity({"in": (0.25, 2)})},
    optional={
        "fly_ash": quantity({"%": (0, 70)}),
        "slag": quantity({"%": (0, 90)}),
        "silica_fume": st.booleans(),
        "admixtures": st.lists(
            st.sampled_from(["retarder", "accelerator", "superplasticizer", "water_reducer"]), unique=True
        ),
        "density": quantity({"lb/ft3": (90, 160), "kg/m3": (1400, 2600)}),
    },
)
plants = st.fixed_dictionaries(
    {},
    optional={
        "truck": quantity({"yd3": (1, 12), "m3": (1, 10)}),
        "payload": quantity({"lb": (5000, 60_000), "t": (2, 30)}),
        "truck_empty": quantity({"lb": (15_000, 40_000)}),
        "trucks": st.integers(1, 12),
        "order_step": quantity({"yd3": (0.25, 1), "m3": (0.1, 1)}),
        "minimum_load": quantity({"yd3": (0, 5)}),
        "rate": quantity({"yd3/h": (5, 200), "m3/h": (5, 150)}),
        "loading": minutes,
        "usual_haul": minutes,
        "age_limit": minutes,
    },
)
places = st.fixed_dictionaries(
    {},
    optional={
        "latitude": st.floats(-90, 90),
        "longitude": st.floats(-180, 180),
        "time_zone": st.sampled_from(["America/Chicago", "Asia/Kathmandu", "Pacific/Apia", "UTC"]),
        "one_truck_at_a_time": st.booleans(),
        "trucks_must_back": st.booleans(),
        "power_lines": st.booleans(),
    },
)
hours = st.fixed_dictionaries(
    {},
    optional={
        "air_temperature": quantity({"F": (-40, 130), "C": (-40, 55)}),
        "dew_point": quantity({"F": (-40, 90)}),
        "humidity": percent,
        "wind": quantity({"mph": (0, 90), "m/s": (0, 40), "km/h": (0, 140)}),
        "gust": quantity({"mph": (0, 120)}),
        "cloud": percent,
        "rain_chance": percent,
        "rain": quantity({"in": (0, 4), "mm": (0, 100)}),
        "thunder_chance": percent,
    },
)


@st.composite
def weather(draw) -> list[dict]:
    """Two days of a few kinds of hour."""
    kinds = draw(st.lists(hours, min_size=1, max_size=5))
    first = datetime(2026, 8, 28) - timedelta(hours=draw(st.integers(0, 12)))
    return [
        {"at": f"{first + timedelta(hours=n):%Y-%m-%dT%H:%M}Z", **kinds[n % len(kinds)]}
        for n in range(draw(st.integers(0, 60)))
    ]


previews = st.fixed_dictionaries(
    {
        "starts_at": st.datetimes(datetime(2026, 8, 28), datetime(2026, 8, 29)).map(
            lambda at: f"{at:%Y-%m-%dT%H:%M}Z"
        ),
        "sections": st.lists(section(), min_size=1, max_size=3),
        "mix": mixes,
        "plant": plants,
        "crew_size": st.integers(1, 60),
    },
    optional={
        "site": places,
        "weather": weather(),
        "method": st.sampled_from(["chute", "extended_chute"]),
        "reach": length(),
        "reinforcement": st.sampled_from(["none", "mesh", "bars"]),
        "indoors": st.booleans(),
        "finishers": st.integers(1, 60),
        "finish": st.sampled_from(["trowel", "broom", "float"]),
        "power_trowels": st.integers(0, 10),
        "test_cylinders": st.integers(0, 10),
        "saw": st.sampled_from(["conventional", "early_entry"]),
        "joint_spacing": quantity({"ft": (1, 30)}),
        "concrete_temperature": temperature,
        "allowance": st.one_of(
            st.fixed_dictionaries({"percent": quantity({"%": (0, 50)})}),
            st.fixed_dictionaries({"depth": quantity({"in": (0, 6)})}),
            st.fixed_dictionaries({"confidence": quantity({"%": (50, 99)})}),
        ),
        "hold_last_load": st.booleans(),
        "trucks": st.integers(1, 20),
        "haul": minutes,
        "age_limit": minutes,
        "call_lead": minutes,
    },
)


@pytest.mark.slow
@given(asked=previews)
@settings(max_examples=50, deadline=None, suppress_health_check=list(HealthCheck))
def test_any_pour_is_planned_or_refused_in_a_sentence(office, asked):
    cache.clear()  # where throttles count
    answer = office.post("pour-previews/", asked)
    assert answer.status_code in (200, 400), answer.content
    if answer.status_code == 400:
        assert answer.json()["detail"]
        return
    plan = answer.json()
    assert plan["call_at"] <= plan["starts_at"] < plan["placed_at"]
    assert plan["concrete"]["order"]["value"] >= plan["concrete"]["net"]["value"] > 0
    assert all(finding["text"] for finding in plan["findings"])


@pytest.mark.slow
@given(asked=previews)
@settings(max_examples=30, deadline=None, suppress_health_check=list(HealthCheck))
def test_any_pour_that_can_be_planned_can_be_booked(office, asked):
    """What the preview takes, the rows must be able to keep."""
    cache.clear()
    if office.post("pour-previews/", asked).status_code == 400:
        return
    mix = office.post("mixes/", {"plant": factories.plant().pk, "code": "x", **asked["mix"]}).json()
    kept = {name: value for name, value in asked.items() if name not in ("site", "plant", "weather")}
    booking = {**kept, "mix": mix["id"], "job": factories.job().pk, "accept_clashes": True}
    answer = office.post("pours/", booking)
    assert answer.status_code in (201, 400), answer.content
    if answer.status_code == 400:
        assert answer.json()["code"] != "invalid", answer.json()

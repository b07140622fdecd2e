"""A weather document with something else in any one place costs a value or is refused, never more."""

import copy
import json
from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.weather.document import WeatherUnreadable
from scheduling.weather.reading import read_document

DATA = Path(__file__).parent.parent / "data"
LEAVES = st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8)
VALUES = st.recursive(
    LEAVES,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
)


def paths(node, path=()) -> list[tuple]:
    children = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    return [path] * bool(path) + [deeper for key, child in children for deeper in paths(child, (*path, key))]


def replaced(document, path, value):
    document = copy.deepcopy(document)
    node = document
    for key in path[:-1]:
        node = node[key]
    node[path[-1]] = value
    return document


DOCUMENTS = {
    name: json.loads((DATA / name).read_text(encoding="utf-8"))
    for name in ("nws_hourly.json", "nws_grid.json", "open_meteo.json")
}


@pytest.mark.parametrize("name", list(DOCUMENTS))
@given(data=st.data())
def test_whatever_stands_in_one_place_costs_that_value_or_is_refused(name, data):
    path = data.draw(st.sampled_from(paths(DOCUMENTS[name])))
    spoiled = replaced(DOCUMENTS[name], path, data.draw(VALUES))
    with suppress(WeatherUnreadable):
        assert read_document(json.dumps(spoiled)).hours

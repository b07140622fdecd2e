"""What programs say of ingredients, base and shade, and what the plan answers of the slab's own clock."""

import pytest

from scheduling.models import Pour
from tests import factories

pytestmark = pytest.mark.django_db

INGREDIENTS = {
    "water_temperature": {"value": 80, "unit": "F"},
    "aggregate_temperature": {"value": 80, "unit": "F"},
}
BASE = {"base_temperature": {"value": 50, "unit": "F"}, "base_frozen": False, "blankets": True}


@pytest.fixture
def weighed(office, booking):
    """The booking, of a mix whose ingredients are known: PCA's example, from memory."""
    weights = {"cement": "335 kg/m3", "water": "123 kg/m3", "sand_and_stone": "1839 kg/m3"}
    answer = office.patch(f"mixes/{booking['mix']}/", weights)
    assert answer.status_code == 200, answer.json()
    return booking


@pytest.fixture
def previewed(office, weighed):
    """A preview that no forecast reaches, so that the haul changes nothing, with what is said besides."""

    def _preview(**said):
        asked = {"starts_at": "2026-08-28T07:00", "sections": weighed["sections"], "mix": weighed["mix"]}
        answer = office.post("pour-previews/", {**asked, **said})
        assert answer.status_code == 200, answer.json()
        return answer.json()

    return _preview


def codes(plan):
    return {finding["code"] for finding in plan["findings"]}


def test_what_is_said_of_ingredients_base_and_shade_is_kept_and_answered(office, weighed):
    said = {**INGREDIENTS, **BASE, "ice": {"value": 30, "unit": "lb/yd3"}}
    sections = [{**weighed["sections"][0], "shaded": True}]
    answer = office.post("pours/", {**weighed, **said, "sections": sections})
    assert answer.status_code == 201, answer.json()
    kept = office.get(f"pours/{answer.json()['id']}/").json()
    for name in ("water_temperature", "aggregate_temperature", "base_temperature", "base_frozen", "blankets"):
        assert kept[name] == said[name]
    assert kept["sections"][0]["shaded"] is True
    pour = Pour.objects.get()
    assert (pour.water_c, pour.base_c) == (pytest.approx(80 / 1.8 - 32 / 1.8), pytest.approx(10))
    assert pour.ice_kg_m3 == pytest.approx(30 * 0.45359237 / 0.764554858)


def test_a_degree_less_of_the_concrete_takes_nearly_five_of_the_water(previewed):
    # PCA, from memory: a kelvin cooler by water 4.9 K cooler
    warm = previewed(**INGREDIENTS)["concrete_temperature"]
    cool = previewed(**{**INGREDIENTS, "water_temperature": {"value": 80 - 4.89 * 1.8, "unit": "F"}})
    assert warm["unit"] == "F"
    assert warm["value"] - cool["concrete_temperature"]["value"] == pytest.approx(1.8, abs=0.05)


def test_ice_for_a_third_of_the_water_cools_by_some_eight_kelvin(previewed):
    # PCA, from memory: 44 kg of ice for 123 kg of water take concrete from 31.8 to 23.9 °C
    warm, iced = previewed(**INGREDIENTS), previewed(**INGREDIENTS, ice="44 kg/m3")
    assert warm["concrete_estimated"] is iced["concrete_estimated"] is False
    fell = warm["concrete_temperature"]["value"] - iced["concrete_temperature"]["value"]
    assert fell / 1.8 == pytest.approx(7.85, abs=0.15)
    assert {"concrete_mixed"} <= codes(iced)
    assert "much_ice" in codes(previewed(**INGREDIENTS, ice="70 kg/m3"))


def test_no_concrete_goes_on_a_base_read_under_freezing_or_seen_frozen(previewed):
    # ACI 306R: never on frozen ground, whatever the air
    for said in ({"base_temperature": "30 F"}, {"base_frozen": True}):
        stops = [f for f in previewed(**said)["findings"] if f["code"] == "frozen_base"]
        assert [f["severity"] for f in stops] == ["stop"]
    assert "frozen_base" not in codes(previewed(base_temperature="33 F"))


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"water_temperature": "200 F"}, "water_temperature"),
        ({"aggregate_temperature": "-20 F"}, "aggregate_temperature"),
        ({"ice": "200 kg/m3"}, "ice"),
        ({"base_temperature": "-50 C"}, "base_temperature"),
        ({"base_frozen": "perhaps"}, "base_frozen"),
    ],
)
def test_what_cannot_be_is_refused_by_the_fields_name(office, booking, given, field):
    answer = office.post("pours/", {**booking, **given})
    assert answer.status_code == 400
    assert [problem["field"] for problem in answer.json()["errors"]] == [field]


def test_the_plan_says_when_the_sheen_is_gone_and_whether_the_top_crusts(office, booking):
    job = factories.job()
    blown = factories.mild_hours(
        factories.NOW, 24 * 4, air_c=33.0, humidity=0.15, wind_10m_m_s=9.0, cloud=0.0
    )
    factories.forecast(job.site, blown)
    plan = office.post("pours/", {**booking, "job": job.pk}).json()["plan"]
    assert plan["first_set"]["crusts"] is True
    assert plan["first_set"]["placed_at"] < plan["first_set"]["sheen_gone_at"]
    assert plan["first_set"]["sheen_gone_at"] < plan["first_set"]["final_set"]["likely"]
    unknown = office.post("pours/", booking | {"starts_at": "2026-10-28T07:00"}).json()["plan"]
    assert unknown["first_set"]["sheen_gone_at"] is None
    assert unknown["first_set"]["crusts"] is False


def test_calcium_chloride_is_at_most_two_percent_and_never_over_steel(office, weighed, previewed):
    # Trade magazine: at most 2 % of the cement's weight, none on steel
    mix = f"mixes/{weighed['mix']}/"
    refused = office.patch(mix, {"calcium_chloride": "4 %"})
    assert refused.status_code == 400
    assert [problem["field"] for problem in refused.json()["errors"]] == ["calcium_chloride"]
    before = previewed()["first_set"]["initial_set"]["likely"]
    assert office.patch(mix, {"calcium_chloride": "2 %"}).status_code == 200
    plain, steel = previewed(), previewed(reinforcement="mesh")
    assert "calcium_chloride" in codes(plain)
    assert plain["first_set"]["initial_set"]["likely"] < before
    assert "chloride_steel" not in codes(plain)
    assert [f["severity"] for f in steel["findings"] if f["code"] == "chloride_steel"] == ["stop"]

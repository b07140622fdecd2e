"""Rows become the engine's inputs, and the engine's values survive being kept as JSON."""

import json
from datetime import UTC, datetime, time

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scheduling import bridge
from scheduling.engine import inputs
from scheduling.engine.dayplan import PourPlan, plan_pour
from scheduling.models import Company, PlantClosure, SlabSection
from tests import factories


def size():
    return st.floats(0.1, 50)


OUTLINES = st.one_of(
    st.builds(inputs.Rectangle, size(), size()),
    st.builds(inputs.Trapezoid, size(), size(), size()),
    st.builds(inputs.Circle, size()),
    st.builds(inputs.PlainArea, size()),
    st.builds(inputs.Polygon, st.lists(st.tuples(size(), size()), min_size=3, max_size=6).map(tuple)),
)
DEPTHS = st.one_of(
    st.builds(inputs.UniformDepth, size()),
    st.builds(inputs.FallingTop, size(), size(), st.floats(0, 360)),
    st.builds(inputs.FallingBase, size(), size(), st.floats(0, 360)),
    st.builds(inputs.SpotDepths, st.lists(size(), min_size=1, max_size=5).map(tuple)),
)
SECTIONS = st.builds(
    inputs.Section,
    outline=OUTLINES,
    depth=DEPTHS,
    edges=st.lists(st.builds(inputs.ThickenedEdge, size(), size()), max_size=2).map(tuple),
    openings=st.lists(st.builds(inputs.Opening, OUTLINES), max_size=2).map(tuple),
)


@settings(suppress_health_check=[HealthCheck.too_slow], deadline=None)
@given(SECTIONS)
def test_any_section_comes_back_from_json_as_it_was(section):
    text = json.dumps(bridge.to_json(section))
    assert bridge.from_json(json.loads(text), inputs.Section) == section


@pytest.mark.django_db
def test_a_kept_plan_answers_again_from_its_kept_inputs():
    pour = factories.pour()
    factories.forecast(pour.job.site)
    plan = factories.plan(pour)
    plan.refresh_from_db()
    request = bridge.from_json(plan.inputs, inputs.PourRequest)
    assert bridge.to_json(plan_pour(request)) == bridge.to_json(bridge.from_json(plan.result, PourPlan))


@pytest.mark.parametrize(
    ("columns", "outline"),
    [
        ({"shape": "rectangle", "length_m": 4.0, "width_m": 3.0}, inputs.Rectangle(4.0, 3.0)),
        (
            {"shape": "trapezoid", "length_m": 4.0, "side_b_m": 2.0, "width_m": 3.0},
            inputs.Trapezoid(4.0, 2.0, 3.0),
        ),
        ({"shape": "circle", "diameter_m": 4.0}, inputs.Circle(4.0)),
        ({"shape": "area", "area_m2": 40.0}, inputs.PlainArea(40.0)),
        (
            {"shape": "polygon", "corners_m": [[0, 0], [4, 0], [4, 3]]},
            inputs.Polygon(((0.0, 0.0), (4.0, 0.0), (4.0, 3.0))),
        ),
    ],
)
def test_each_shape_becomes_its_outline(columns, outline):
    assert bridge.engine_outline(SlabSection(**columns)) == outline


def test_a_shape_without_its_size_is_bad_input():
    with pytest.raises(inputs.BadInput) as bad:
        bridge.engine_outline(SlabSection(shape="circle"))
    assert (bad.value.field, bad.value.code) == ("diameter_m", "missing")


@pytest.mark.django_db
def test_a_plant_is_shut_on_a_closure_and_on_a_weekday_without_hours():
    plant = factories.plant()
    friday, sunday = factories.STARTS_AT.date(), factories.STARTS_AT.date().replace(day=30)
    assert bridge.is_open_on(plant, friday)
    assert not bridge.is_open_on(plant, sunday)
    PlantClosure.objects.create(plant=plant, on=friday)
    assert not bridge.is_open_on(plant, friday)


@pytest.mark.django_db
def test_batching_hours_are_on_the_plants_own_clock():
    plant = factories.plant(time_zone="America/New_York")
    opens, closes = bridge.batching_hours(plant, factories.STARTS_AT)
    assert (opens.hour, closes.hour) == (10, 20)  # 06:00 and 16:00 in New York's summer, in UTC


@pytest.mark.django_db
def test_the_age_limit_is_the_pours_else_the_plants_else_the_companys():
    pour = factories.pour()
    company = Company(age_limit_min=90)
    assert bridge.engine_supply(pour, company).age_limit_min == 90
    pour.plant.age_limit_min = 75
    assert bridge.engine_supply(pour, company).age_limit_min == 75
    pour.age_limit_min = 60
    assert bridge.engine_supply(pour, company).age_limit_min == 60


@pytest.mark.django_db
def test_what_a_pour_leaves_unsaid_of_its_placing_is_the_engines_own():
    plain = inputs.Placing(method=inputs.Method.CHUTE, people=5, straightedge_m=4.27)
    assert bridge.engine_placing(factories.pour()) == plain


@pytest.mark.django_db
def test_what_a_pour_says_of_its_placing_reaches_the_engine():
    said = {"carry_m": 20.0, "rise_m": 1.0, "barrow_m3": 0.1, "carts": 3, "line_m": 60.0, "hose_moves": 2}
    more = {"pump_moves": 1, "slump_mm": 90.0, "slope": 0.02, "fibres": True}
    placing = bridge.engine_placing(
        factories.pour(**said, **more, screed="laser", truck_sides=["left", "back"])
    )
    assert {name: getattr(placing, name) for name in (*said, *more)} == {**said, **more}
    assert placing.screed is inputs.Screed.LASER
    assert placing.truck_sides == (inputs.Side.LEFT, inputs.Side.BACK)


@pytest.mark.django_db
def test_a_companys_costs_and_a_plants_rule_and_lateness_reach_the_engine():
    plant = factories.plant(
        wait_price=40.0, wait_block_min=15.0, wait_counted="started", wait_free_min=30.0, late_sd_min=12.0
    )
    pour = factories.pour(plant=plant)
    company = Company(
        crew_per_h=300.0, truck_per_h=20.0, rejected_load_cost=900.0, cold_joint_cost=7000.0,
        overtime_per_h=90.0, overtime_from=time(15, 30),
    )  # fmt: skip
    request = bridge.pour_request(pour, company, bridge.kept_sections(pour), ())
    rule = inputs.TruckWaitRule(free_min=30.0, price=40.0, block_min=15.0, counted=inputs.Counted.STARTED)
    assert request.costs == inputs.Costs(
        crew_per_h=300.0, truck_per_h=20.0, truck_wait=rule, rejected_load=900.0, cold_joint=7000.0,
        overtime_per_h=90.0, overtime_from_at=datetime(2026, 8, 28, 20, 30, tzinfo=UTC),
    )  # fmt: skip
    assert request.uncertainty == inputs.Uncertainty(late_sd_min=12.0)


@pytest.mark.django_db
def test_nothing_entered_is_what_the_engine_takes_by_itself():
    pour = factories.pour()
    request = bridge.pour_request(pour, Company(), bridge.kept_sections(pour), ())
    assert (request.costs, request.uncertainty) == (inputs.Costs(), inputs.Uncertainty())


@pytest.mark.django_db
def test_ingredients_make_a_batch_only_where_all_of_them_are_told():
    pour = factories.pour(water_c=12.0, aggregate_c=20.0, ice_kg_m3=30.0)
    assert bridge.engine_batch(pour) is None
    pour.mix.cement_kg_m3, pour.mix.water_kg_m3, pour.mix.aggregate_kg_m3 = 335.0, 150.0, 1800.0
    batch = bridge.engine_batch(pour)
    assert (batch.cement_kg_m3, batch.water_c, batch.aggregate_c, batch.ice_kg_m3) == (
        335.0,
        12.0,
        20.0,
        30.0,
    )
    request = bridge.pour_request(pour, Company(), bridge.kept_sections(pour), ())
    assert (request.batch, request.mix.cement_kg_m3) == (batch, 335.0)
    pour.aggregate_c = None
    assert bridge.engine_batch(pour) is None


def test_shade_reaches_the_engine():
    row = SlabSection(shape="circle", diameter_m=3, depth_kind="uniform", depth_m=0.1, shaded=True)
    assert bridge.engine_section(row, (), ()).shaded

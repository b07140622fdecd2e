"""Bays with their concrete, loads and times."""

import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.baygrid import TruckStand
from scheduling.engine.bays import plan_bays
from scheduling.engine.delivery import deliver
from scheduling.engine.inputs import (
    BadInput,
    Circle,
    DepthAllowance,
    FallingBase,
    FallingTop,
    Method,
    Mix,
    Opening,
    PercentAllowance,
    Place,
    Placing,
    PlainArea,
    Polygon,
    Rectangle,
    Reinforcement,
    Section,
    Severity,
    Side,
    SpotDepths,
    Supply,
    ThickenedEdge,
    Trapezoid,
    UniformDepth,
)
from scheduling.engine.placement import placing_line
from scheduling.engine.rounds import evenly
from scheduling.engine.spacing import spacing_for
from scheduling.engine.volume import order_quantity

FT, INCH, YD3 = 0.3048, 0.0254, 0.764554857984
START = datetime(2026, 6, 10, 12, tzinfo=UTC)
# 12 ft down the chute (a US ready-mix supplier), 6 ft more with an extension (common practice, no source)
REACHES_M = {Method.CHUTE: 12 * FT, Method.EXTENDED_CHUTE: 18 * FT}
MIX = Mix(name="4000 psi", strength_mpa=28, aggregate_mm=19)
SUPPLY = Supply(truck_m3=10 * YD3, order_step_m3=0.25 * YD3, haul_min=20)
SLAB = Section(Rectangle(52 * FT, 38 * FT), UniformDepth(5 * INCH))
ELL = Polygon(((0, 0), (16, 0), (16, 6), (7, 6), (7, 13), (0, 13)))


class Pour:
    """The parts of a plan that bays are made from."""

    def __init__(self, *sections, percent=5, people=5, allowance=None, **placing):
        self.sections = sections
        self.quantity = order_quantity(sections, allowance or PercentAllowance(percent), MIX, SUPPLY, True)
        self.placing = Placing(**{"method": Method.CHUTE, "people": people} | placing)
        depth_m = self.quantity.order_m3 / self.quantity.area_m2
        self.line = placing_line(self.placing, self.quantity.area_m2, depth_m)

    def run(self):
        loads_m3, rate_m3_h = self.quantity.loads_m3, self.line.rate_m3_h
        interval_min = spacing_for(loads_m3, rate_m3_h, SUPPLY, Place()).interval_min
        return deliver(loads_m3, evenly(interval_min, len(loads_m3)), START, rate_m3_h, SUPPLY, Place())

    def bays(self, stands=(), delivery=None, reaches_m=REACHES_M):
        return plan_bays(self.sections, self.quantity, self.placing, self.line, reaches_m, stands, delivery)


def sections():
    side = st.floats(1, 30)
    depth_m = st.floats(0.08, 0.2)
    outline = st.one_of(
        st.builds(Rectangle, side, side),
        st.builds(Trapezoid, side, side, side),
        st.builds(Circle, side),
        st.builds(PlainArea, st.floats(1, 900)),
        st.just(ELL),
    )
    degrees = st.floats(-180, 180)
    depth = st.one_of(
        st.builds(UniformDepth, depth_m),
        st.builds(FallingTop, depth_m, st.floats(0, 0.1), degrees),
        st.builds(FallingBase, depth_m, st.floats(0, 0.1), degrees),
        st.builds(SpotDepths, st.lists(depth_m, min_size=1, max_size=6).map(tuple)),
    )
    edge = st.builds(
        ThickenedEdge,
        width_m=st.floats(0.02, 0.05),
        depth_m=st.floats(0.35, 0.6),
        length_m=st.floats(0.1, 1),
        taper_m=st.floats(0, 0.05),
    )
    openings = st.sampled_from([(), (Opening(Circle(0.3), count=2),)])
    return st.builds(Section, outline, depth, st.lists(edge, max_size=2).map(tuple), openings)


# --- what each takes --------------------------------------------------------------------------


@given(parts=st.lists(sections(), min_size=1, max_size=3), percent=st.floats(0, 12))
def test_the_bays_take_the_whole_slab_and_the_whole_order(parts, percent):
    pour = Pour(*parts, percent=percent)
    bays = pour.bays().bays
    assert [bay.number for bay in bays] == list(range(1, len(bays) + 1))
    for number, section in enumerate(pour.quantity.sections, start=1):
        here = [bay for bay in bays if bay.section == number]
        assert math.fsum(bay.area_m2 for bay in here) == pytest.approx(section.area_m2, rel=1e-9)
        slab_m3 = math.fsum(bay.area_m2 * bay.depth_m for bay in here)
        assert slab_m3 == pytest.approx(section.slab_m3 - section.openings_m3, rel=1e-9)
    assert math.fsum(bay.volume_m3 for bay in bays) == pytest.approx(pour.quantity.order_m3, rel=1e-9)
    assert max(bay.width_m for bay in bays) <= pour.line.strike_width_m + 1e-6


@given(parts=st.lists(sections(), min_size=1, max_size=2))
def test_each_section_takes_its_own_share_of_the_order(parts):
    pour = Pour(*parts)
    over = pour.quantity.order_m3 / pour.quantity.net_m3
    for number, section in enumerate(pour.quantity.sections, start=1):
        here_m3 = math.fsum(bay.volume_m3 for bay in pour.bays().bays if bay.section == number)
        assert here_m3 == pytest.approx(section.net_m3 * over, rel=1e-9)


def test_a_wedge_takes_most_where_it_is_thickest():
    # 4 in at the low back edge and 2 in of fall over 36 ft in three rows of 12 ft: 4 1/3, 5 and 5 2/3 in
    pour = Pour(Section(Rectangle(13 * FT, 36 * FT), FallingTop(4 * INCH, 2 * INCH)))
    depths = [bay.depth_m / INCH for bay in pour.bays().bays]
    assert depths == pytest.approx([4 + 1 / 3, 5, 5 + 2 / 3])


def edge_of_nine_bays(edge):
    """What each of nine bays of 10 by 10 ft, under a 4 in slab, has of an edge 8 in deeper: square feet."""
    slab = Section(Rectangle(30 * FT, 30 * FT), UniformDepth(4 * INCH), (edge,))
    pour = Pour(slab, straightedge_m=10 * FT)
    over = pour.quantity.order_m3 / pour.quantity.net_m3
    below_m3 = [bay.volume_m3 / over - bay.area_m2 * bay.depth_m for bay in pour.bays().bays]
    return [m3 / (8 * INCH * FT**2) for m3 in below_m3]


def test_a_thickened_edge_goes_to_the_bays_it_lies_in():
    # 1 ft all round: a corner bay has 19 sf of it, a side bay 10, the middle none
    around = edge_of_nine_bays(ThickenedEdge(width_m=FT, depth_m=12 * INCH))
    assert around == pytest.approx([19, 10, 19, 10, 0, 10, 19, 10, 19], abs=1e-9)


def test_a_taper_counts_half():
    # another foot sloping up: 17 sf more in a corner bay, 10 in a side bay, half as deep on average
    around = edge_of_nine_bays(ThickenedEdge(width_m=FT, depth_m=12 * INCH, taper_m=FT))
    assert around == pytest.approx([27.5, 15, 27.5, 15, 0, 15, 27.5, 15, 27.5], abs=1e-9)


def test_an_edge_of_a_given_length_is_spread_along_the_outline():
    # 24 ft of 1 ft over 120 ft of outline: a fifth of what each bay has of the outline
    along = edge_of_nine_bays(ThickenedEdge(width_m=FT, depth_m=12 * INCH, length_m=24 * FT))
    assert along == pytest.approx([4, 2, 4, 2, 0, 2, 4, 2, 4], abs=1e-9)


def test_an_edge_as_deep_as_the_slab_adds_nothing_anywhere():
    edge = ThickenedEdge(width_m=FT, depth_m=4 * INCH)
    pour = Pour(Section(Rectangle(30 * FT, 30 * FT), UniformDepth(4 * INCH), (edge,)))
    bays = pour.bays().bays
    assert len({round(bay.volume_m3, 9) for bay in bays}) == 1


def test_a_low_base_is_shared_out_with_the_rest():
    pour = Pour(SLAB, allowance=DepthAllowance(INCH / 2))
    bays = pour.bays().bays
    assert math.fsum(bay.volume_m3 for bay in bays) == pytest.approx(pour.quantity.order_m3)


# --- loads and times --------------------------------------------------------------------------


@given(parts=st.lists(sections(), min_size=1, max_size=2), people=st.integers(2, 9))
def test_loads_and_times_never_run_backwards(parts, people):
    pour = Pour(*parts, people=people)
    run = pour.run()
    bays = pour.bays(delivery=run).bays
    assert bays[0].loads[0] == 1
    assert bays[-1].loads[-1] == len(run.loads)
    assert (bays[0].starts_at, bays[-1].ends_at) == (run.first_at, run.ends_at)
    for bay in bays:
        assert list(bay.loads) == list(range(bay.loads[0], bay.loads[-1] + 1))
        assert bay.starts_at <= bay.ends_at
    for one, other in pairwise(bays):
        assert other.loads[0] - one.loads[-1] in (0, 1)
        assert one.ends_at <= other.starts_at + timedelta(milliseconds=50)


def test_the_slab_of_52_by_38_feet_is_filled_strip_by_strip_from_four_loads():
    # 30.5 yd3 net, 5 % and the plant's quarter yards: 32 1/4 yd3 as 10, 10, 10 and 2 1/4 over 16 bays
    pour = Pour(SLAB)
    run = pour.run()
    plan = pour.bays(delivery=run)
    assert len(plan.bays) == 16
    assert {round(bay.volume_m3 / YD3, 4) for bay in plan.bays} == {round(32.25 / 16, 4)}
    loads = [bay.loads for bay in plan.bays]
    assert loads[:6] == [(1,), (1,), (1,), (1,), (1, 2), (2,)]  # 10 yd3 end in the fifth bay of 2.016
    assert loads[-2:] == [(3, 4), (4,)]  # 30 yd3 end in the fifteenth
    assert plan.bays[4].starts_at < run.loads[0].ends_at <= run.loads[1].starts_at < plan.bays[4].ends_at


def test_a_bay_that_begins_with_a_load_begins_when_the_truck_does():
    # Two bays of 10 yd3 each, exactly: the second bay is the second load.
    area_m2 = 20 * YD3 / (5 * INCH)
    pour = Pour(Section(Rectangle(14 * FT, area_m2 / (14 * FT)), UniformDepth(5 * INCH)), percent=0)
    reaches_m = {Method.CHUTE: 100.0}
    run = pour.run()
    bays = pour.bays(delivery=run, reaches_m=reaches_m).bays
    halves = len(bays) // 2
    assert len(bays) % 2 == 0
    assert (bays[halves - 1].loads, bays[halves].loads) == ((1,), (2,))
    assert bays[halves - 1].ends_at == run.loads[0].ends_at
    assert bays[halves].starts_at == run.loads[1].starts_at


def test_without_deliveries_the_loads_are_known_but_not_the_times():
    bays = Pour(SLAB).bays().bays
    assert bays[4].loads == (1, 2)
    assert {(bay.starts_at, bay.ends_at) for bay in bays} == {(None, None)}


def test_sections_are_placed_one_after_another():
    walk = Section(Rectangle(40 * FT, 4 * FT), UniformDepth(4 * INCH))
    numbers = [bay.section for bay in Pour(SLAB, walk).bays().bays]
    assert numbers == sorted(numbers)
    assert set(numbers) == {1, 2}


def test_striking_off_takes_the_boards_pace_and_longer_over_steel():
    # Two people pull a 14 ft board over a bay 17 to 18 ft long in 45 to 60 s, and setting up takes the
    # rest of a few minutes (common practice, no source).
    pour = Pour(SLAB)
    minutes = pour.bays().bays[0].strike_off_min
    assert 1 < minutes < 6
    pour.placing = replace(pour.placing, reinforcement=Reinforcement.BARS)  # the same people at the board
    assert pour.bays().bays[0].strike_off_min == pytest.approx(minutes / 0.9)


# --- reach ------------------------------------------------------------------------------------


def test_the_far_bays_of_a_deep_slab_are_out_of_the_chutes_reach():
    # 30 ft from the nearest place for a truck, 12 ft of chute: refused, with what would help
    plan = Pour(Section(Rectangle(14 * FT, 30 * FT), UniformDepth(5 * INCH), label="patio")).bays(
        [TruckStand(Side.FRONT)]
    )
    (finding,) = plan.findings
    assert (finding.severity, finding.code) == (Severity.STOP, "bay_out_of_reach")
    assert (finding.facts["bays"], finding.facts["of_bays"]) == (2, 3)
    assert finding.facts["needed_m"] == pytest.approx(30 * FT)
    assert finding.facts["section"] == "patio"
    assert finding.facts["extended_chute"] is False
    assert finding.facts["second_truck_position"] is True
    assert [bay.in_reach for bay in plan.bays] == [False, False, True]


def test_an_extension_chute_is_named_where_it_reaches():
    slab = Section(Rectangle(14 * FT, 16 * FT), UniformDepth(5 * INCH))
    (finding,) = Pour(slab).bays([TruckStand()]).findings
    assert finding.facts["extended_chute"] is True
    assert not Pour(slab, method=Method.EXTENDED_CHUTE).bays([TruckStand()]).findings


def test_where_nobody_says_where_trucks_stand_the_front_is_only_assumed():
    (finding,) = Pour(SLAB).bays().findings
    assert finding.severity is Severity.NOTE
    assert finding.facts["front_assumed"] is True


def test_trucks_on_the_base_bring_every_bay_into_reach():
    lanes = TruckStand(points_m=tuple(((6.5 + 13 * n) * FT, 30 * FT) for n in range(4)))
    assert not Pour(SLAB).bays([lanes]).findings


def test_each_section_has_its_own_place_for_trucks():
    plan = Pour(SLAB, SLAB).bays([TruckStand(), TruckStand(points_m=((6, 9), (2, 9), (10, 9), (14, 9)))])
    assert [finding.facts["section"] for finding in plan.findings] == ["1"]


@pytest.mark.parametrize(
    ("change", "field"),
    [({"stands": [TruckStand()]}, "stands"), ({"reaches_m": {Method.EXTENDED_CHUTE: 5.0}}, "reaches_m")],
)
def test_what_does_not_fit_together_is_refused_by_name(change, field):
    with pytest.raises(BadInput) as caught:
        Pour(SLAB, SLAB).bays(**change)
    assert caught.value.field == field

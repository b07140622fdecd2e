"""The strips of a plan as a page tells them."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from scheduling.models import Units
from scheduling.pages.windows import strip_table
from scheduling.pages.wording import Words

ZONE = ZoneInfo("America/Chicago")
WORDS = Words(Units.US, ZONE)
SEVEN = datetime(2026, 9, 3, 12, 0, tzinfo=UTC)


def at(hours):
    return (SEVEN + timedelta(hours=hours)).isoformat()


def strip(number, lost=False):
    passes = [("power_float", 2.5), ("trowel", 3.5), ("trowel", 4.25), ("trowel", 5.0)]
    return {
        "number": number,
        "first_bay": 4 * number - 3,
        "last_bay": 4 * number,
        "placed_at": at(0.2),
        "hard_at": at(6),
        "lost": lost,
        "passes": [{"kind": kind, "starts_at": None if lost else at(h)} for kind, h in passes],
    }


def plan(strips, cuts=True):
    bears = ("forms_off_at", "walked_on_at", "light_things_at", "cars_at", "heavy_at")
    curing = {name: at(24 * (n + 1)) for n, name in enumerate(bears)}
    curing |= {"compound_from_at": at(5.2), "cover_from_at": at(6), "cover_all_at": at(7), "ends_at": at(175)}
    cut = [{"number": one["number"], "opens_at": at(18)} for one in strips]
    return {
        "starts_at": at(0),
        "finishing": {"strips": strips},
        "sawing": {"starts_at": at(18) if cuts else None, "strips": cut},
        "curing": curing,
    }


def test_a_strip_tells_its_bays_and_when_each_pass_begins():
    table = strip_table(plan([strip(1), strip(2)]), ZONE, WORDS)
    assert table.heads == ("Float", "Trowel")
    assert table.rows[1].bays == "5–8"
    assert table.rows[0].passes == ("9:30 am", "10:30 am, 11:15 am, noon")
    assert (table.rows[0].struck, table.rows[0].hard, table.rows[0].cut) == (
        "7:10 am",
        "1:00 pm",
        "Fri 1:00 am",
    )


def test_a_lost_strip_has_no_times_of_passes():
    (row,) = strip_table(plan([strip(1, lost=True)]), ZONE, WORDS).rows
    assert row.lost
    assert row.passes == ("", "")


def test_curing_and_what_the_slab_bears_are_told_with_their_days():
    table = strip_table(plan([strip(1)]), ZONE, WORDS)
    assert table.cure.startswith("Curing compound goes on strip by strip from 12:10 pm; sheets or water")
    assert table.cure.endswith("Keep it cured until Thu, Sep 10, 2:00 pm.")
    assert table.bears[1] == ("Walk on it", "Sat, Sep 5, 7:00 am")
    assert table.bears[4] == ("Full loads", "Wed, Sep 9")


def test_a_slab_without_joints_has_no_cuts_to_try():
    table = strip_table(plan([strip(1)], cuts=False), ZONE, WORDS)
    assert not table.has_cuts
    assert table.rows[0].cut == ""


def test_a_plan_from_before_there_were_strips_shows_none():
    assert strip_table({"finishing": {}}, ZONE, WORDS) is None

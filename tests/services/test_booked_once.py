"""A page or program that books with a key books once; and a deeper edge asks the plant anew."""

from datetime import UTC, datetime

import pytest

from scheduling.errors import BookedAlready
from scheduling.models import Pour
from scheduling.services import booking
from tests import factories

pytestmark = pytest.mark.django_db
FT, IN = 0.3048, 0.0254
STARTS = datetime(2026, 9, 3, 12, 0, tzinfo=UTC)


def slab(edge_depth_m: float) -> dict:
    edge = {"width_m": 12 * IN, "depth_m": edge_depth_m, "length_m": None, "taper_m": 0.0}
    return {"shape": "rectangle", "length_m": 28 * FT, "width_m": 36 * FT, "depth_m": 4 * IN, "edges": [edge]}


def book(office, mix, **more):
    return booking.book_pour(
        job=factories.job(), sections=[slab(12 * IN)], by=office, now=factories.NOW,
        plant=mix.plant, mix=mix, starts_at=STARTS, **more,
    )  # fmt: skip


@pytest.fixture
def office():
    factories.company()
    return factories.user()


def test_a_key_books_once_and_names_the_pour_it_booked(office):
    mix = factories.mix()
    kept = book(office, mix, key="press")
    with pytest.raises(BookedAlready) as refused:
        book(office, mix, key="press")
    assert refused.value.facts == {"pour": kept.pk}
    assert Pour.objects.count() == 1


def test_without_a_key_the_same_may_be_booked_again(office):
    mix = factories.mix()
    assert book(office, mix).booking_key is None
    assert book(office, mix).booking_key is None


def test_an_edge_dug_deeper_makes_another_order(office):
    # A published case: 28 by 36 ft, 4 in, a 12 in strip 12 in deep, then 16 as drawn: 15.51, 17.04 yd3.
    pour = book(office, factories.mix())
    yard = 0.764554857984
    assert pour.plan.result["quantity"]["net_m3"] / yard == pytest.approx(15.51, abs=0.005)
    before = pour.orders.get(state="to_call")
    changed = booking.change_pour(
        pour=pour, version=pour.version, by=office, now=factories.NOW, sections=[slab(16 * IN)]
    )
    assert changed.plan.result["quantity"]["net_m3"] / yard == pytest.approx(17.04, abs=0.005)
    after = changed.orders.get(state="to_call")
    assert after.quantity_m3 > before.quantity_m3

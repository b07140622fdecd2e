"""Where a pour's saw comes from, when other slabs want the same one."""

from datetime import timedelta

import pytest

from scheduling.models import EquipmentKind, EquipmentUnit, PourState
from scheduling.queries.saws import shared_saw
from tests import factories
from tests.factories import STARTS_AT

pytestmark = pytest.mark.django_db

SLAB = [{"length_m": 24.0, "width_m": 18.0, "depth_m": 0.1}]


@pytest.fixture
def pours():
    """Two slabs placed half an hour apart by two crews, and one saw for both."""
    factories.company()
    EquipmentUnit.objects.create(name="Saw 1", kind=EquipmentKind.SAW)
    made = []
    for n in range(2):
        site = factories.site(name=f"Site {n}")
        factories.forecast(site)
        start = STARTS_AT + n * timedelta(minutes=30)
        pour = factories.pour(site=site, crew=factories.crew(), starts_at=start, sections=SLAB)
        factories.plan(pour)
        made.append(pour)
    return made


def test_the_second_slab_waits_for_the_saw_of_the_first(pours):
    first, second = pours
    assert shared_saw(first) is None
    shared = shared_saw(second)
    assert shared.comes_from == first
    cut = first.plan.phases.get(kind="cut")
    assert shared.starts_at - cut.ends_at == pytest.approx(timedelta(minutes=45), abs=timedelta(minutes=2))
    assert not shared.late


def test_with_a_second_saw_nobody_waits(pours):
    EquipmentUnit.objects.create(name="Saw 2", kind=EquipmentKind.SAW)
    assert shared_saw(pours[1]) is None


@pytest.mark.parametrize("spoil", ["out of service", "other kind", "cancelled first"])
def test_only_saws_in_service_of_the_right_kind_and_standing_pours_count(pours, spoil):
    first, second = pours
    if spoil == "out of service":
        EquipmentUnit.objects.update(in_service=False)
    elif spoil == "other kind":
        EquipmentUnit.objects.update(kind=EquipmentKind.EARLY_ENTRY_SAW)
    else:
        first.state = PourState.CANCELLED
        first.save()
    assert shared_saw(second) is None

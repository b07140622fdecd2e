"""What must be released before concrete may come, on the page of its pour."""

import pytest

from scheduling.models import Paper, PaperKind
from tests.pages.conftest import signed_in
from tests.pages.reading import text_of

pytestmark = [pytest.mark.django_db]


def settle(page, pour, **said):
    return page.post(f"/pours/{pour.pk}/papers/", said, follow=True)


def test_an_inspection_is_asked_for_released_by_somebody_and_dropped(page, pour):
    assert "not asked for" in text_of(page.get(f"/pours/{pour.pk}/"))
    text = text_of(settle(page, pour, kind="inspection", act="ask"))
    assert "no order is confirmed until that is passed" in text
    assert "to be passed" in text
    assert "Not confirmed before what is open is settled." in text
    text = text_of(settle(page, pour, kind="inspection", act="passed", passed_by="Lee, county"))
    assert "passed by Lee, county, " in text
    assert not Paper.objects.get(kind=PaperKind.INSPECTION).is_open
    settle(page, pour, kind="inspection", act="drop")
    assert not Paper.objects.exists()


def test_nobody_named_releases_nothing(page, pour):
    settle(page, pour, kind="forms", act="ask")
    assert "Say who released it." in text_of(settle(page, pour, kind="forms", act="passed", passed_by=" "))
    assert Paper.objects.get().is_open


def test_what_is_no_paper_is_said(page, pour):
    assert "Say what it is about" in text_of(settle(page, pour, kind="licence", act="ask"))


def test_a_lead_reads_what_is_open_and_settles_nothing(crew, pour):
    assert settle(signed_in(crew.lead), pour, kind="forms", act="ask").status_code == 403
    assert not Paper.objects.exists()

"""The office and the dispatcher take a link back, send another, and see the photos that came by it."""

import pytest
from django.test import Client

from scheduling.models import DayLink, Message, MessageKind, NoteKind
from scheduling.roles import Role
from scheduling.services import daylinks
from tests import factories
from tests.pages.conftest import THURSDAY, signed_in
from tests.pages.reading import html_of, text_of

pytestmark = [pytest.mark.django_db]


@pytest.fixture
def link(pour, crew):
    return daylinks.issue(crew=crew, lead=crew.lead, pours=[pour], now=factories.NOW)


def test_a_link_is_taken_back_on_the_pours_page(page, pour, link):
    text = text_of(page.get(f"/pours/{pour.pk}/?all"))
    assert "link not opened yet" in text
    assert daylinks.token_of(link) not in html_of(page.get(f"/pours/{pour.pk}/?all"))
    assert page.post(f"/pours/{pour.pk}/link/{link.pk}/revoke/").status_code == 302
    text = text_of(page.get(f"/pours/{pour.pk}/?all"))
    assert "that link opens nothing now" in text
    assert "taken back" in text
    assert Client().get(f"/d/{daylinks.token_of(link)}").status_code == 410


def test_a_new_link_is_texted(page, pour, link, settings):
    settings.PUBLIC_URL = "https://pours.example"
    page.post(f"/pours/{pour.pk}/link/")
    text = Message.objects.get(kind=MessageKind.DAY_LINK)
    token = text.body.rsplit("/", 1)[1]
    assert Client().get(f"/d/{token}", headers={"host": "localhost"}).status_code == 200
    assert Client().get(f"/d/{daylinks.token_of(link)}").status_code == 410


def test_where_no_phone_gets_to_it_the_office_is_told(page, pour, link):
    page.post(f"/pours/{pour.pk}/link/")
    assert "no phone gets to this service" in text_of(page.get(f"/pours/{pour.pk}/?all"))
    assert DayLink.objects.get() == link


def test_a_lead_takes_back_and_sends_nothing(pour, crew, link):
    own = signed_in(crew.lead)
    assert "Take it back" not in text_of(own.get(f"/pours/{pour.pk}/?all"))
    assert own.post(f"/pours/{pour.pk}/link/{link.pk}/revoke/").status_code == 403
    assert own.post(f"/pours/{pour.pk}/link/").status_code == 403
    link.refresh_from_db()
    assert link.revoked_at is None


def test_another_crews_link_is_not_taken_back_by_this_pours_page(page, pour, book):
    other = factories.crew()
    theirs = daylinks.issue(crew=other, lead=other.lead, pours=[book(crew=other)], now=factories.NOW)
    assert page.post(f"/pours/{pour.pk}/link/{theirs.pk}/revoke/").status_code == 404


def test_a_photo_is_for_those_who_see_the_pour(page, pour, book, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    (tmp_path / "a.jpg").write_bytes(b"\xff\xd8x")
    note = factories.site_note(
        pour, kind=NoteKind.PHOTO, photo="a.jpg", words="north edge", happened_at=THURSDAY, noted_at=THURSDAY
    )
    at = f"/pours/{pour.pk}/photos/{note.pk}/"
    assert at in html_of(page.get(f"/pours/{pour.pk}/?all"))
    answer = page.get(at)
    assert b"".join(answer.streaming_content) == b"\xff\xd8x"
    assert (answer["Content-Type"], answer["X-Content-Type-Options"]) == ("image/jpeg", "nosniff")
    assert signed_in(factories.user(Role.CREW_LEAD)).get(at).status_code == 404
    assert Client().get(at).status_code == 302
    assert page.get(f"/pours/{book(crew=factories.crew()).pk}/photos/{note.pk}/").status_code == 404
    type(note).objects.update(undone_at=THURSDAY)
    assert page.get(at).status_code == 404

"""What a lead presses on the phone: when it was, what it carries, and who else must hear of it."""

from datetime import time, timedelta
from io import BytesIO

import pytest
from PIL import Image

from scheduling.errors import Refusal
from scheduling.models import Language, Message, MessageKind, NoteKind, SiteNote
from scheduling.quantities import UnitSystem
from scheduling.roles import Role
from scheduling.services import daylinks, phone, photos, tickets
from scheduling.services.phone import Press
from tests import factories
from tests.factories import STARTS_AT

pytestmark = [pytest.mark.django_db]

MINUTE = timedelta(minutes=1)


@pytest.fixture
def pour():
    factories.company()
    made = factories.pour(crew=factories.crew(people=5), people=5)
    factories.plan(made)
    return made


@pytest.fixture
def link(pour):
    return daylinks.issue(crew=pour.crew, lead=pour.crew.lead, pours=[pour], now=factories.NOW)


@pytest.fixture
def press(pour, link):
    def _press(kind, key="one", now=STARTS_AT, **said):
        return phone.press(link=link, pour=pour, said=Press(kind=kind, key=key, **said), now=now)

    return _press


def picture(size=(3000, 2000), form="JPEG", **saved):
    made = BytesIO()
    Image.new("RGB", size, (90, 100, 110)).save(made, form, **saved)
    made.seek(0)
    return made


# --- when it was ------------------------------------------------------------------------------


def test_what_waited_on_the_phone_is_noted_when_it_was_pressed(press):
    assert press(NoteKind.RAIN, ago=25 * MINUTE).happened_at == STARTS_AT - 25 * MINUTE
    assert SiteNote.objects.get().noted_at == STARTS_AT


def test_a_phone_whose_clock_ran_backwards_does_not_press_in_the_future(press):
    assert press(NoteKind.RAIN, ago=-5 * MINUTE).happened_at == STARTS_AT


def test_a_time_typed_after_midnight_is_yesterdays_where_todays_is_still_ahead(press):
    # 00:10 in Olathe on the Saturday is 05:10 UTC
    after_midnight = STARTS_AT.replace(hour=5, minute=10) + timedelta(days=1)
    made = press(NoteKind.CUT_DONE, now=after_midnight, at=time(23, 50))
    assert made.happened_at == after_midnight - 20 * MINUTE


def test_a_batch_time_before_midnight_goes_with_a_truck_after_it(press):
    after_midnight = STARTS_AT.replace(hour=5, minute=10) + timedelta(days=1)
    made = press(NoteKind.TRUCK_ARRIVED, now=after_midnight, load=1, batched=time(23, 45))
    assert made.batch_at == after_midnight - 25 * MINUTE


# --- who hears of it --------------------------------------------------------------------------


def told():
    return [text.body for text in Message.objects.filter(kind=MessageKind.DISPATCH).order_by("pk")]


def test_a_problem_is_texted_to_dispatch_once_with_its_words(press, pour):
    factories.user(Role.DISPATCHER)
    for _ in range(2):
        press(NoteKind.PROBLEM, words="gate is locked")
    (text,) = told()
    assert text.startswith(f"{pour.job.site.name}: Dana Lead")
    assert text.endswith("gate is locked")


def test_people_short_are_told_and_a_full_crew_is_not(press):
    factories.user(Role.DISPATCHER, language=Language.SPANISH)
    press(NoteKind.PEOPLE_THERE, people=5)
    assert told() == []
    press(NoteKind.PEOPLE_THERE, key="two", people=3)
    assert told()[0].endswith("hay 3 de 5 personas")


def test_a_refused_load_and_a_wrong_ticket_are_told(press):
    factories.user(Role.DISPATCHER)
    press(NoteKind.TICKET, load=1, batched=time(6, 30), ticket_mix="3000")
    press(NoteKind.REFUSED, key="two", load=1)
    wrong, refused = told()
    assert "the ticket says mix 3000" in wrong
    assert "Load 1 refused" in refused


def test_rain_alone_is_nobodys_text(press):
    factories.user(Role.DISPATCHER)
    press(NoteKind.RAIN)
    assert told() == []


# --- ages -------------------------------------------------------------------------------------


def test_a_load_that_comes_in_place_of_a_refused_one_must_be_read_anew(press):
    press(NoteKind.TRUCK_ARRIVED, key="a", load=1, batched=time(6, 20))
    press(NoteKind.REFUSED, key="b", load=1, now=STARTS_AT + MINUTE)
    press(NoteKind.TRUCK_ARRIVED, key="c", load=1, now=STARTS_AT + 40 * MINUTE)
    with pytest.raises(Refusal) as refused:
        press(NoteKind.TRUCK_STARTED, key="d", load=1, now=STARTS_AT + 41 * MINUTE)
    assert refused.value.code == "batch_needed"
    press(NoteKind.TRUCK_STARTED, key="d", load=1, now=STARTS_AT + 41 * MINUTE, batched=time(7, 20))
    assert SiteNote.objects.filter(kind=NoteKind.TRUCK_STARTED, undone_at__isnull=True).count() == 1


# --- tickets ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("said", "found"),
    [
        ({"ticket_mix": "4000 75 wr"}, []),
        ({"ticket_mix": "4000-75"}, ["mix"]),
        ({"ticket_address": "12 mill rd. olathe"}, []),
        ({"ticket_address": "21 Mill Rd, Olathe"}, ["address"]),
        ({"ticket_m3": 7.6}, []),
        ({"ticket_m3": 7.9}, ["yards"]),
        ({}, []),
    ],
)
def test_a_ticket_is_held_against_what_was_ordered(pour, said, found):
    pour.mix.code, pour.job.site.address = "4000-75-WR", "12 Mill Rd, Olathe"
    ticket = SiteNote(kind=NoteKind.TICKET, load=1, **said)
    named = [one.what for one in tickets.mismatches(pour, ticket, 7.65, UnitSystem.US)]
    assert named == found


# --- photos -----------------------------------------------------------------------------------


def test_a_photo_is_written_anew_small_upright_and_without_where_it_was_taken(
    press, pour, settings, tmp_path
):
    settings.MEDIA_ROOT = tmp_path
    exif = Image.Exif()
    exif[0x0112] = 6  # lay on its side
    exif.get_ifd(0x8825)[2] = (38.0, 53.0, 1.0)  # GPS latitude
    taken = picture(exif=exif)
    size = len(taken.getvalue())
    made = press(NoteKind.PHOTO, photo=taken, photo_size=size, words="north edge")
    with Image.open(tmp_path / made.photo.name) as kept:
        assert kept.format == "JPEG"
        assert kept.size == (1067, 1600)
        assert not kept.getexif()
    assert made.photo.name.startswith(f"pours/{pour.pk}/")
    again = press(NoteKind.PHOTO, photo=picture(), photo_size=size)
    assert again == made
    assert len(list(tmp_path.rglob("*.jpg"))) == 1


@pytest.mark.parametrize("form", ["PNG", "WEBP"])
def test_other_pictures_become_jpeg(press, settings, tmp_path, form):
    settings.MEDIA_ROOT = tmp_path
    made = press(NoteKind.PHOTO, photo=picture((200, 100), form), photo_size=1000)
    with Image.open(tmp_path / made.photo.name) as kept:
        assert (kept.format, kept.size) == ("JPEG", (200, 100))


@pytest.mark.parametrize(
    ("upload", "size", "code"),
    [
        (BytesIO(b"<svg xmlns='http://www.w3.org/2000/svg'/>"), 50, "photo_kind"),
        (BytesIO(b"GIF89a" + bytes(40)), 50, "photo_kind"),
        (BytesIO(b""), 0, "photo_kind"),
        (BytesIO(picture().getvalue()[:400]), 400, "photo_kind"),
        (picture((10, 10)), photos.MOST_BYTES + 1, "photo_large"),
    ],
)
def test_what_is_no_photo_or_too_large_is_refused_and_nothing_kept(
    press, settings, tmp_path, upload, size, code
):
    settings.MEDIA_ROOT = tmp_path
    upload.seek(0)
    with pytest.raises(Refusal) as refused:
        press(NoteKind.PHOTO, photo=upload, photo_size=size)
    assert refused.value.code == code
    assert not SiteNote.objects.exists()
    assert list(tmp_path.rglob("*.jpg")) == []


def test_a_picture_of_very_many_pixels_is_not_unpacked(press, settings, tmp_path, monkeypatch):
    settings.MEDIA_ROOT = tmp_path
    monkeypatch.setattr(photos, "MOST_PIXELS", 100)
    with pytest.raises(Refusal) as refused:
        press(NoteKind.PHOTO, photo=picture((11, 10), "PNG"), photo_size=500)
    assert refused.value.code == "photo_large"


def test_whoever_finds_a_link_cannot_fill_the_disk(press, settings, tmp_path, monkeypatch):
    settings.MEDIA_ROOT = tmp_path
    monkeypatch.setattr(phone, "MOST_PHOTOS", 1)
    press(NoteKind.PHOTO, photo=picture((9, 9)), photo_size=500)
    with pytest.raises(Refusal) as refused:
        press(NoteKind.PHOTO, key="two", photo=picture((9, 9)), photo_size=500)
    assert refused.value.code == "photo_many"

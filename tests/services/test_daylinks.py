"""Links to a crew's day: what they open, until when, and who takes them back."""

from datetime import date, timedelta

import pytest

from scheduling.errors import NotAllowed, OutOfDate, Refusal
from scheduling.models import DayLink, Message, MessageKind, PourState
from scheduling.roles import Role
from scheduling.services import daylinks
from scheduling.services.daylinks import Ended
from scheduling.texting.segments import is_gsm
from tests import factories
from tests.factories import NOW, STARTS_AT

pytestmark = [pytest.mark.django_db, pytest.mark.database]

HOUR = timedelta(hours=1)


@pytest.fixture
def crew():
    factories.company()
    return factories.crew()


@pytest.fixture
def pour(crew):
    return factories.pour(crew=crew)


@pytest.fixture
def link(crew, pour):
    return daylinks.issue(crew=crew, lead=crew.lead, pours=[pour], now=NOW)


def opened(link, now=STARTS_AT):
    return daylinks.open_link(token=daylinks.token_of(link), now=now)


def test_a_link_is_short_and_of_plain_letters_and_opens_its_day(link, pour):
    token = daylinks.token_of(link)
    assert len(token) == daylinks.LENGTH == len(daylinks.NO_TOKEN)
    assert token.isascii()
    assert token.isalnum()
    assert is_gsm(token)
    assert opened(link) == link
    assert daylinks.pours_of(link) == [pour]


def test_twelve_letters_hold_over_seventy_bits():
    assert len(set(daylinks.SIGNS)) ** daylinks.LENGTH > 2**70


def test_what_is_kept_does_not_hold_the_link(link):
    kept = [str(value) for value in DayLink.objects.values().get().values()]
    assert all(daylinks.token_of(link) not in value for value in kept)


def test_another_secret_key_ends_every_link(link, settings):
    token = daylinks.token_of(link)
    settings.SECRET_KEY = "another"
    assert daylinks.open_link(token=token, now=STARTS_AT) is None


@pytest.mark.parametrize("token", ["", "x", "your-own-key", "é" * 12, "a" * 5000])
def test_what_is_no_link_opens_nothing(link, token):
    assert daylinks.open_link(token=token, now=STARTS_AT) is None


def test_letters_of_another_size_open_nothing(link):
    assert daylinks.open_link(token=daylinks.token_of(link).swapcase(), now=STARTS_AT) is None


def test_the_same_day_has_the_same_link_and_another_day_or_crew_another(link, crew, pour):
    assert daylinks.issue(crew=crew, lead=crew.lead, pours=[pour], now=NOW + HOUR) == link
    later = factories.pour(crew=crew, starts_at=STARTS_AT + timedelta(days=1))
    assert daylinks.issue(crew=crew, lead=crew.lead, pours=[later], now=NOW) != link
    other = factories.crew()
    theirs = daylinks.issue(crew=other, lead=other.lead, pours=[factories.pour(crew=other)], now=NOW)
    assert daylinks.token_of(theirs) != daylinks.token_of(link)


def test_it_opens_until_six_on_the_second_morning_after(link):
    # 6:00 in Olathe on the Sunday is 11:00 UTC
    ends_at = factories.datetime(2026, 8, 30, 11, 0, tzinfo=factories.UTC)
    assert opened(link, ends_at - timedelta(seconds=1)) == link
    with pytest.raises(Ended) as ended:
        opened(link, ends_at)
    assert (ended.value.code, ended.value.status) == ("over", 410)


def test_what_was_taken_back_opens_nothing_and_is_taken_back_once(link):
    dispatcher = factories.user(Role.DISPATCHER)
    daylinks.revoke(link=link, by=dispatcher, now=NOW)
    with pytest.raises(Ended) as ended:
        opened(link)
    assert ended.value.code == "revoked"
    with pytest.raises(OutOfDate):
        daylinks.revoke(link=link, by=dispatcher, now=NOW)
    link.refresh_from_db()
    assert (link.revoked_at, link.revoked_by) == (NOW, dispatcher)


def test_a_lead_takes_no_link_back(link, crew):
    with pytest.raises(NotAllowed):
        daylinks.revoke(link=link, by=crew.lead, now=NOW)


def test_who_leads_the_crew_no_more_or_has_left_opens_nothing(link, crew):
    crew.lead.is_active = False
    crew.lead.save()
    with pytest.raises(Ended):
        opened(link)
    crew.lead.is_active = True
    crew.lead.save()
    crew.lead = factories.user(Role.CREW_LEAD)
    crew.save()
    with pytest.raises(Ended) as ended:
        opened(link)
    assert ended.value.code == "not_theirs"


def test_it_shows_that_crew_and_day_alone_by_the_sites_calendar(link, crew, pour):
    factories.pour(crew=factories.crew())
    factories.pour(crew=None)
    # Friday 00:30 and Saturday 00:30 in Olathe: 05:30 UTC
    first = factories.pour(crew=crew, starts_at=STARTS_AT.replace(hour=5, minute=30))
    factories.pour(crew=crew, starts_at=STARTS_AT.replace(hour=5, minute=30) + timedelta(days=1))
    held = factories.pour(crew=crew, starts_at=STARTS_AT + 3 * HOUR, state=PourState.ON_HOLD)
    assert daylinks.pours_of(link) == [first, pour, held]
    assert link.day == date(2026, 8, 28)


def test_a_use_is_noted_at_most_once_a_minute(link):
    opened(link)
    opened(link, STARTS_AT + timedelta(seconds=30))
    link.refresh_from_db()
    assert link.last_used_at == STARTS_AT
    opened(link, STARTS_AT + timedelta(seconds=60))
    link.refresh_from_db()
    assert link.last_used_at == STARTS_AT + timedelta(seconds=60)


@pytest.mark.parametrize(
    ("public_url", "begins"),
    [
        ("https://pours.example", "https://pours.example/d/"),
        ("http://localhost:8000", ""),
        ("http://[::1]:8000", ""),
        ("", ""),
    ],
)
def test_the_address_is_the_public_one_and_there_is_none_where_no_phone_gets_there(
    crew, pour, settings, public_url, begins
):
    settings.PUBLIC_URL = public_url
    made = daylinks.address_for(lead=crew.lead, pours=[pour], now=NOW)
    assert made.startswith(begins) if begins else made == ""
    assert DayLink.objects.exists() == bool(begins)


def test_a_new_link_is_texted_and_the_old_one_ends(link, crew, pour, settings):
    settings.PUBLIC_URL = "https://pours.example"
    crew.lead.language = "es"
    crew.lead.save()
    text = daylinks.renew(pour=pour, by=factories.user(Role.DISPATCHER), now=NOW)
    new = DayLink.objects.get(revoked_at__isnull=True)
    assert text == Message.objects.get(kind=MessageKind.DAY_LINK)
    assert text.recipient == crew.lead
    assert text.body.endswith(daylinks.address(daylinks.token_of(new)))
    assert "ya no abre" in text.body
    with pytest.raises(Ended):
        opened(link)
    assert opened(new) == new


def test_no_new_link_without_a_lead_an_address_or_a_day_to_come(link, crew, pour, settings):
    dispatcher = factories.user(Role.DISPATCHER)

    def refused(now=NOW, whose=pour, by=dispatcher):
        with pytest.raises(Refusal) as told:
            daylinks.renew(pour=whose, by=by, now=now)
        return told.value.code

    assert refused() == "no_address"
    settings.PUBLIC_URL = "https://pours.example"
    assert refused(whose=factories.pour(crew=factories.crew(lead=None))) == "no_lead"
    assert refused(whose=factories.pour()) == "no_lead"
    assert refused(now=STARTS_AT + timedelta(days=3)) == "other_day"
    assert refused(by=crew.lead) == "not_allowed"
    assert opened(link) == link
    assert not Message.objects.exists()

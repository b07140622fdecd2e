"""Links that open one crew's day on its lead's phone, without a password.

A link is an address with twelve letters and figures: 71 bits drawn from the service's secret key and a
nonce of its own. Whoever tries a million a second against a thousand links that open would need some
70,000 years; all the same, misses are counted at the door. A link opens the day of one crew alone, while
its lead leads it, until the second morning after, and can be taken back at any time; another secret key ends
all of them. Of the link itself nothing is kept but its digest, so that a copy of these rows opens nothing
(the texts do hold it, for whoever may read texts). Short beats long: it is typed off another phone, and
counts in a text's segments.
"""

import string
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from hashlib import sha256
from urllib.parse import urlsplit

from django.conf import settings
from django.db import IntegrityError, transaction
from django.db.models import Q
from django.utils import translation
from django.utils.crypto import constant_time_compare, get_random_string, salted_hmac

from scheduling.errors import NotAllowed, OutOfDate, Refusal
from scheduling.models import Company, Crew, DayLink, EventKind, Message, MessageKind, Pour, PourEvent, User
from scheduling.queries.week import local_day
from scheduling.roles import Right
from scheduling.services import briefing, outbox
from scheduling.services.nudge import nudge
from scheduling.texting.dispatch import day_link_text

SIGNS = string.ascii_letters + string.digits
LENGTH = 12
SALT = "scheduling.daylinks"
NONCE_LENGTH = 32
ENDS_AT = time(6)  # a slow slab placed in the evening is cut in the night after the next day
ENDS_AFTER = timedelta(days=2)
USE_NOTED_EVERY = timedelta(minutes=1)
ONLY_HERE = frozenset({"localhost", "127.0.0.1", "::1"})
# As long as a link, and none: it stands in drafts for the one that is made when the text is written.
NO_TOKEN = "your-own-key"


class Ended(Refusal):
    """The link opened a day once and does so no more."""

    status = 410


# --- making and taking back -------------------------------------------------------------------


def address_for(*, lead: User, pours: Sequence[Pour], now: datetime) -> str:
    """The address of the lead's day, made where there is none yet; empty where no phone gets to us."""
    crew = pours[0].crew
    if crew is None or not _reached_by_phones():
        return ""
    return address(token_of(issue(crew=crew, lead=lead, pours=pours, now=now)))


def draft_address() -> str:
    """An address as long as the one the text will hold."""
    return address(NO_TOKEN) if _reached_by_phones() else ""


def address(token: str) -> str:
    """Always by the service's own public address, never by what a caller said the host is."""
    return f"{settings.PUBLIC_URL}/d/{token}"


def _reached_by_phones() -> bool:
    return bool(settings.PUBLIC_URL) and urlsplit(settings.PUBLIC_URL).hostname not in ONLY_HERE


def issue(*, crew: Crew, lead: User, pours: Sequence[Pour], now: datetime) -> DayLink:
    """The link to the day of these pours; the one there is, as long as it opens."""
    day = local_day(pours[0])
    standing = DayLink.objects.filter(crew=crew, lead=lead, day=day, revoked_at__isnull=True)
    if kept := standing.first():
        return kept
    link = DayLink(crew=crew, lead=lead, day=day, nonce=get_random_string(NONCE_LENGTH), made_at=now)
    link.ends_at = datetime.combine(day + ENDS_AFTER, ENDS_AT, briefing.site_zone(pours[0]))
    link.digest = _digest(token_of(link))
    try:
        with transaction.atomic():
            link.save()
    except IntegrityError:  # another worker was first
        return standing.get()
    return link


def token_of(link: DayLink) -> str:
    """The link's letters, reckoned anew each time."""
    said = f"{link.crew_id}:{link.lead_id}:{link.day}:{link.nonce}"
    number = int.from_bytes(salted_hmac(SALT, said, algorithm="sha256").digest())
    signs = []
    for _ in range(LENGTH):
        number, sign = divmod(number, len(SIGNS))
        signs.append(SIGNS[sign])
    return "".join(signs)


def _digest(token: str) -> str:
    return sha256(token.encode()).hexdigest()


@transaction.atomic
def revoke(*, link: DayLink, by: User, now: datetime) -> None:
    """Take a link back, as for a lost phone."""
    _may_take_back(by)
    standing = DayLink.objects.filter(pk=link.pk, revoked_at__isnull=True)
    if standing.update(revoked_at=now, revoked_by=by) != 1:
        raise OutOfDate("This link was taken back before.", code="revoked")


@transaction.atomic
def renew(*, pour: Pour, by: User, now: datetime) -> Message:
    """Take back what there is and text the pour's lead a new link.

    Raises
    ------
    Refusal
        If nobody leads the crew, the day is over, or no phone gets to the service's address.
    """
    _may_take_back(by)
    lead, crew = (pour.crew.lead if pour.crew else None), pour.crew
    if crew is None or lead is None:
        raise Refusal("This pour has no crew lead yet.", code="no_lead")
    if not _reached_by_phones():
        raise Refusal("PUBLIC_URL is not set: no phone gets to this service.", code="no_address")
    old = DayLink.objects.filter(crew=crew, lead=lead, day=local_day(pour), revoked_at__isnull=True)
    old.update(revoked_at=now, revoked_by=by)
    link = issue(crew=crew, lead=lead, pours=[pour], now=now)
    if link.ends_at <= now:
        raise Refusal("That day is over.", code="other_day")
    with translation.override(lead.language):
        body = day_link_text(briefing.pour_facts(pour, Company.objects.get()), address(token_of(link)))
    text = outbox.queue_message(
        key=f"day-link:{link.pk}",
        kind=MessageKind.DAY_LINK,
        recipient=lead,
        body=body,
        due_at=now,
        useful_until=link.ends_at,
        pours=[],
        now=now,
    )
    if text is None:  # the row was made just now, so nothing can have had its key
        raise LookupError(f"The text of {link} was kept before.")
    nudge("scheduling.tasks.send_due_messages")
    return text


def _may_take_back(by: User) -> None:
    if not by.may(Right.ASSIGN):
        raise NotAllowed("Your role does not include this.", code="not_allowed")


# --- opening ----------------------------------------------------------------------------------


def open_link(*, token: str, now: datetime) -> DayLink | None:
    """The link these letters are; None where they are none.

    Raises
    ------
    Ended
        If it was taken back, its time is over, or its lead leads that crew no more.
    """
    found = DayLink.objects.select_related("crew", "lead").filter(digest=_digest(token)).first()
    if found is None or not constant_time_compare(token, token_of(found)):
        return None
    if found.revoked_at is not None:
        raise Ended("revoked", code="revoked")
    if found.ends_at <= now:
        raise Ended("over", code="over")
    if found.crew.lead_id != found.lead_id or not found.lead.is_active:
        raise Ended("another leads that crew", code="not_theirs")
    if found.last_used_at is None or now - found.last_used_at >= USE_NOTED_EVERY:
        DayLink.objects.filter(pk=found.pk).update(last_used_at=now)
    return found


def pours_of(link: DayLink) -> list[Pour]:
    """The pours of that crew on that day, in order, also those on hold and called off; no others."""
    noon = datetime.combine(link.day, time(12), link.ends_at.tzinfo)
    near = Pour.objects.filter(
        crew=link.crew,
        starts_at__gte=noon - timedelta(days=2),
        starts_at__lte=noon + timedelta(days=2),
    ).select_related("job__site", "plant", "mix", "crew__lead", "plan")
    return [pour for pour in near.order_by("starts_at", "id") if local_day(pour) == link.day]


@dataclass(frozen=True, slots=True)
class Gone:
    """A pour that the link showed once; it went to another crew, to nobody yet, or only to another day."""

    pour: Pour
    at: datetime
    is_other_day: bool


def gone_from(link: DayLink) -> list[Gone]:
    """What went from that crew and day while the link was open, each by its last move away."""
    moves = PourEvent.objects.filter(kind__in=(EventKind.MOVED, EventKind.CHANGED), at__gte=link.made_at)
    theirs = moves.filter(Q(facts__was__crew=link.crew.name) | Q(pour__crew=link.crew))
    gone = {}
    for event in theirs.select_related("pour__job__site", "pour__crew").order_by("at", "id"):
        pour, was = event.pour, event.facts.get("was", {})
        is_here = pour.crew_id == link.crew_id and local_day(pour) == link.day
        if (
            not is_here
            and was.get("crew", link.crew.name) == link.crew.name
            and _day_before(event) == link.day
        ):
            gone[pour.pk] = Gone(pour, event.at, is_other_day=pour.crew_id == link.crew_id)
    return list(gone.values())


def _day_before(event: PourEvent) -> date:
    """The site's day that the pour lay on before that change."""
    facts = event.facts
    said = facts.get("was", {}).get("starts_at") or facts.get("starts_at")
    at = datetime.fromisoformat(said) if said else event.pour.starts_at
    return at.astimezone(briefing.site_zone(event.pour)).date()


def links_of(pour: Pour) -> list[DayLink]:
    """The links to the pour's day, the newest first."""
    if pour.crew is None:
        return []
    kept = DayLink.objects.filter(crew=pour.crew, day=local_day(pour)).select_related("lead", "revoked_by")
    return list(kept.order_by("-made_at", "-id"))

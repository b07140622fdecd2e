"""Links to a person's own calendar: made, taken back, and found again by the secret in them."""

import hashlib
import secrets
from datetime import datetime, timedelta

from django.db import transaction

from scheduling.errors import NotAllowed
from scheduling.models import CalendarLink, User
from scheduling.roles import Right

SECRET_BYTES = 32
NOTED_EVERY = timedelta(hours=1)  # programs ask every few minutes; when they last did need not be told closer


@transaction.atomic
def make_link(*, person: User, now: datetime) -> str:
    """Make the person's link and return the secret in it; the one they had opens nothing any more.

    Raises
    ------
    NotAllowed
        If they may not see the week.
    """
    if not person.may(Right.SEE_WEEK):
        raise NotAllowed("Your role does not include this.", code="not_allowed")
    User.objects.select_for_update().get(pk=person.pk)  # of two presses at once the later one holds
    take_back(person=person, now=now)
    secret = secrets.token_urlsafe(SECRET_BYTES)
    CalendarLink.objects.create(person=person, digest=_digest(secret), made_at=now)
    return secret


def take_back(*, person: User, now: datetime) -> int:
    """Have the person's link open nothing any more; how many were taken back."""
    return CalendarLink.objects.filter(person=person, revoked_at=None).update(revoked_at=now)


def link_of(*, person: User) -> CalendarLink | None:
    """The link that opens the person's calendar now, if there is one."""
    return CalendarLink.objects.filter(person=person, revoked_at=None).first()


def whose(*, secret: str, now: datetime) -> User | None:
    """The person whose calendar the secret opens; None where it opens nothing."""
    link = (
        CalendarLink.objects.select_related("person").filter(digest=_digest(secret), revoked_at=None).first()
    )
    if link is None or not link.person.may(Right.SEE_WEEK):
        return None
    if link.last_used_at is None or now - link.last_used_at >= NOTED_EVERY:
        CalendarLink.objects.filter(pk=link.pk).update(last_used_at=now)
    return link.person


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()

"""How fast texts may leave: so many a minute by all workers together, so many an hour to one person.

An urgent text is held by neither. It is counted like any other, as far as the minute has leaves.
"""

from datetime import datetime, timedelta

from django.conf import settings
from django.db.models import F

from scheduling.models import Message, SendingMinute

HOUR = timedelta(hours=1)
KEPT = timedelta(days=1)
# Leaves taken at once, so that not every text costs a write of its own.
A_HANDFUL = 10


class Leaves:
    """Leaves to send, taken out of the minute's a handful at a time."""

    def __init__(self) -> None:
        self._left = 0
        self._minute: datetime | None = None

    def has_room(self, now: datetime) -> bool:
        """Whether one more text may go; leaves of a minute that is over are void."""
        minute = now.replace(second=0, microsecond=0)
        if self._minute != minute:
            self._minute, self._left = minute, 0
        if not self._left:
            self._left = _taken(minute)
        return self._left > 0

    def spend(self) -> None:
        self._left = max(self._left - 1, 0)


def _taken(minute: datetime) -> int:
    """A handful where the minute has as many left, else one, else none; counted by whose update took hold."""
    row, is_new = SendingMinute.objects.get_or_create(starts_at=minute)
    if is_new:
        SendingMinute.objects.filter(starts_at__lt=minute - KEPT).delete()
    for count in (min(A_HANDFUL, settings.TEXTS_A_MINUTE), 1):
        room = SendingMinute.objects.filter(pk=row.pk, taken__lte=settings.TEXTS_A_MINUTE - count)
        if room.update(taken=F("taken") + count) == 1:
            return count
    return 0


def held_until(message: Message, now: datetime) -> datetime | None:
    """When this person may be texted again; None where they may be texted now."""
    if message.is_urgent:
        return None
    lately = Message.objects.filter(recipient=message.recipient_id, sent_at__gt=now - HOUR)
    most = settings.TEXTS_A_PERSON_AN_HOUR
    # The one whose hour must be over before there is room again.
    first = lately.order_by("-sent_at").values_list("sent_at", flat=True)[most - 1 : most]
    oldest = next(iter(first), None)
    return oldest + HOUR if oldest else None

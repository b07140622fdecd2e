"""What happened to a pour and who did it: added to, never changed."""

from django.conf import settings
from django.db import models

from scheduling.models.pours import Pour


class EventKind(models.TextChoices):
    BOOKED = "booked", "booked"
    CHANGED = "changed", "changed"
    MOVED = "moved", "moved"
    HELD = "held", "put on hold"
    RELEASED = "released", "released from hold"
    CANCELLED = "cancelled", "cancelled"
    PAPER_ASKED = "paper_asked", "to be released"
    PAPER_PASSED = "paper_passed", "released"
    PAPER_REOPENED = "paper_reopened", "to be released again"
    PAPER_DROPPED = "paper_dropped", "needs no release any more"
    PLANNED = "planned", "planned"
    WEATHER_CHANGED = "weather_changed", "plan changed by new weather"
    CLASH_ACCEPTED = "clash_accepted", "clash accepted"
    ORDER_MADE = "order_made", "order made"
    ORDER_CALLED = "order_called", "order called in"
    ORDER_CONFIRMED = "order_confirmed", "order confirmed"
    ORDER_REVISED = "order_revised", "order revised"
    ORDER_CANCELLED = "order_cancelled", "order cancelled"


class PourEvent(models.Model):
    pour = models.ForeignKey(Pour, on_delete=models.CASCADE, related_name="events")
    kind = models.CharField(max_length=20, choices=EventKind)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL)
    facts = models.JSONField(default=dict, blank=True)

    class Meta:
        ordering = ["pour", "at", "id"]
        constraints = [
            models.CheckConstraint(condition=models.Q(kind__in=EventKind.values), name="event_kind_known"),
        ]

    def __str__(self) -> str:
        return f"{self.pour} {self.get_kind_display()}"

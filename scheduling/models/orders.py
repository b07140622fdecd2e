"""Concrete ordered from a plant: each revision a row, one of them standing."""

from datetime import datetime, timedelta

from django.conf import settings
from django.db import models

from scheduling.models.arrivals import AskedArrivals
from scheduling.models.plants import Mix, Plant
from scheduling.models.pours import Pour


class OrderState(models.TextChoices):
    TO_CALL = "to_call", "to call in"
    CALLED = "called", "called in"
    CONFIRMED = "confirmed", "confirmed by the plant"
    REPLACED = "replaced", "replaced by a later one"
    CANCELLED = "cancelled", "cancelled"


STANDING_ORDER = (OrderState.TO_CALL, OrderState.CALLED, OrderState.CONFIRMED)


class PlantOrder(AskedArrivals):
    """What the plant is asked for. A revision replaces the row before it, which stays for the record."""

    pour = models.ForeignKey(Pour, on_delete=models.CASCADE, related_name="orders")
    revision = models.PositiveIntegerField(default=1)
    state = models.CharField(max_length=10, choices=OrderState, default=OrderState.TO_CALL)
    plant = models.ForeignKey(Plant, on_delete=models.PROTECT, related_name="orders")
    mix = models.ForeignKey(Mix, on_delete=models.PROTECT)
    quantity_m3 = models.FloatField()
    loads = models.PositiveSmallIntegerField()
    first_on_site_at = models.DateTimeField()
    order_by = models.DateTimeField(help_text="The plant's cut-off for this pour.")
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    made_at = models.DateTimeField()
    called_at = models.DateTimeField(null=True, blank=True)
    confirmed_at = models.DateTimeField(null=True, blank=True)
    taken_by = models.CharField(max_length=80, blank=True, help_text="Who at the plant took it.")
    ticket = models.CharField(max_length=40, blank=True, help_text="The plant's own order number.")

    class Meta:
        ordering = ["-made_at", "-id"]
        constraints = [
            models.UniqueConstraint(fields=["pour", "revision"], name="order_revision_once_a_pour"),
            models.UniqueConstraint(
                fields=["pour"],
                condition=models.Q(state__in=[s.value for s in STANDING_ORDER]),
                name="order_one_standing_a_pour",
            ),
            models.CheckConstraint(condition=models.Q(state__in=OrderState.values), name="order_state_known"),
            models.CheckConstraint(
                condition=models.Q(quantity_m3__gt=0, loads__gte=1, first_together__gte=1),
                name="order_has_concrete",
            ),
        ]

    def __str__(self) -> str:
        return f"order {self.revision} for {self.pour}"

    @property
    def free_until(self) -> datetime | None:
        """Until when a change or cancelling is free; None where the plant's terms are not known."""
        notice_h = self.plant.change_notice_h
        return None if notice_h is None else self.first_on_site_at - timedelta(hours=notice_h)

    def change_fee(self, now: datetime) -> float:
        """What it costs to change or cancel it now; nothing before the plant has taken it."""
        taken = self.state in (OrderState.CALLED, OrderState.CONFIRMED)
        late = self.free_until is not None and now > self.free_until
        return self.plant.late_change_fee if taken and late else 0.0

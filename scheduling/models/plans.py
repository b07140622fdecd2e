"""Plans: what the engine answered for a pour, kept with what it was asked. Never edited, only added."""

from typing import Any

from django.conf import settings
from django.db import models

from scheduling.engine.inputs import PhaseKind, Severity
from scheduling.models.arrivals import AskedArrivals
from scheduling.models.forecasts import SiteForecast
from scheduling.models.pours import Pour, words


class Plan(AskedArrivals):
    """One answer of the engine. `inputs` and `result` are the engine's own values as JSON."""

    pour = models.ForeignKey(Pour, on_delete=models.CASCADE, related_name="plans")
    number = models.PositiveIntegerField()
    pour_version = models.PositiveIntegerField()
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL)
    forecast = models.ForeignKey(SiteForecast, null=True, blank=True, on_delete=models.SET_NULL)
    inputs = models.JSONField()
    result = models.JSONField()

    call_at = models.DateTimeField(help_text="When the crew stands on site.")
    starts_at = models.DateTimeField()
    placed_at = models.DateTimeField(help_text="When the last load is out.")
    order_m3 = models.FloatField()
    loads = models.PositiveSmallIntegerField()
    worst = models.CharField(max_length=8, choices=[(s.value, s.value) for s in Severity])

    class Meta:
        ordering = ["pour", "-number"]
        constraints = [
            models.UniqueConstraint(fields=["pour", "number"], name="plan_number_once_a_pour"),
            models.CheckConstraint(
                condition=models.Q(placed_at__gt=models.F("starts_at")), name="plan_not_empty"
            ),
            models.CheckConstraint(
                condition=models.Q(order_m3__gt=0, loads__gte=1), name="plan_has_concrete"
            ),
        ]

    def __str__(self) -> str:
        return f"plan {self.number} of {self.pour}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Add the plan; changing one that is kept is a fault of the program."""
        if not self._state.adding:
            raise TypeError("A plan is never edited: make a new one.")
        super().save(*args, **kwargs)


class PlanPhase(models.Model):
    """A stretch of a plan that keeps people busy, from `starts_at` up to `ends_at`."""

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="phases")
    kind = models.CharField(max_length=8, choices=[(k.value, words(k)) for k in PhaseKind])
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    people = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ["plan", "starts_at", "id"]
        indexes = [models.Index(fields=["starts_at", "ends_at"], name="phase_window")]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(ends_at__gt=models.F("starts_at")), name="phase_not_empty"
            ),
            models.CheckConstraint(condition=models.Q(people__gte=1), name="phase_has_people"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} of {self.plan}"

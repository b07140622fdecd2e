"""When people, crews and machines are not there, and roads that bear less for a season."""

from django.core.exceptions import ValidationError
from django.db import models

from scheduling.models.crews import Crew, Worker
from scheduling.models.equipment import EquipmentUnit
from scheduling.models.jobs import Site
from scheduling.models.plants import Plant


class Absence(models.Model):
    """From when until when somebody, a whole crew or a machine is away: half-open, one of the three."""

    worker = models.ForeignKey(
        Worker, null=True, blank=True, on_delete=models.CASCADE, related_name="absences"
    )
    crew = models.ForeignKey(Crew, null=True, blank=True, on_delete=models.CASCADE, related_name="absences")
    unit = models.ForeignKey(
        EquipmentUnit, null=True, blank=True, on_delete=models.CASCADE, related_name="absences"
    )
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField(help_text="Back from then on.")
    reason = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["starts_at", "id"]
        indexes = [models.Index(fields=["ends_at", "starts_at"], name="absence_span")]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(ends_at__gt=models.F("starts_at")),
                name="absence_not_empty",
                violation_error_message="They are back after they leave.",
            ),
            models.CheckConstraint(
                condition=models.Q(worker__isnull=False, crew__isnull=True, unit__isnull=True)
                | models.Q(worker__isnull=True, crew__isnull=False, unit__isnull=True)
                | models.Q(worker__isnull=True, crew__isnull=True, unit__isnull=False),
                name="absence_of_one",
                violation_error_message="Name a person, a crew or a machine: one of them.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.worker or self.crew or self.unit} away from {self.starts_at:%Y-%m-%d %H:%M}"


class RoadSeason(models.Model):
    """While it lasts, no truck heavier than that goes to the site, or leaves the plant, or both."""

    site = models.ForeignKey(
        Site, null=True, blank=True, on_delete=models.CASCADE, related_name="road_seasons"
    )
    plant = models.ForeignKey(
        Plant, null=True, blank=True, on_delete=models.CASCADE, related_name="road_seasons"
    )
    first_on = models.DateField()
    last_on = models.DateField(help_text="Itself included.")
    limit_kg = models.FloatField(help_text="Most a loaded truck may weigh while it lasts.")

    class Meta:
        ordering = ["first_on", "id"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(last_on__gte=models.F("first_on")), name="road_season_in_order"
            ),
            models.CheckConstraint(condition=models.Q(limit_kg__gt=0), name="road_season_limit_positive"),
            models.CheckConstraint(
                condition=models.Q(site__isnull=False) | models.Q(plant__isnull=False),
                name="road_season_somewhere",
                violation_error_message="Name the site or the plant whose road it is.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.site or self.plant}: {self.first_on} to {self.last_on}"

    def clean(self) -> None:
        if self.site is None and self.plant is None:
            raise ValidationError("Name the site or the plant whose road it is.")

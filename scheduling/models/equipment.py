"""Machines, each one a thing that can be in one place at a time."""

from django.db import models

from scheduling.models.crews import Crew


class EquipmentKind(models.TextChoices):
    SAW = "saw", "saw"
    EARLY_ENTRY_SAW = "early_entry_saw", "early-entry saw"
    WALK_BEHIND_TROWEL = "walk_behind_trowel", "walk-behind trowel"
    RIDE_ON_TROWEL = "ride_on_trowel", "ride-on trowel"
    STRAIGHTEDGE = "straightedge", "straightedge"
    VIBRATING_SCREED = "vibrating_screed", "vibrating screed"
    LASER_SCREED = "laser_screed", "laser screed"
    EXTENSION_CHUTE = "extension_chute", "extension chute"


class EquipmentUnit(models.Model):
    name = models.CharField(max_length=60, unique=True)
    kind = models.CharField(max_length=20, choices=EquipmentKind)
    crew = models.ForeignKey(Crew, null=True, blank=True, on_delete=models.SET_NULL, related_name="equipment")
    in_service = models.BooleanField(default=True)

    class Meta:
        ordering = ["kind", "name"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(kind__in=EquipmentKind.values), name="equipment_kind_known"
            ),
        ]

    def __str__(self) -> str:
        return self.name

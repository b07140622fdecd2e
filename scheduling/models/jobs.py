"""Whom the work is for and where it is."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from phonenumber_field.modelfields import PhoneNumberField

from scheduling.models.company import validate_time_zone


class Site(models.Model):
    name = models.CharField(max_length=120)
    address = models.CharField(max_length=200)
    time_zone = models.CharField(max_length=64, default="America/Chicago", validators=[validate_time_zone])
    latitude = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(-90), MaxValueValidator(90)]
    )
    longitude = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(-180), MaxValueValidator(180)]
    )
    directions = models.TextField(blank=True, help_text="The gate, the code, where to park.")
    one_truck_at_a_time = models.BooleanField(default=False)
    trucks_must_back = models.BooleanField(default=False)
    power_lines = models.BooleanField(default=False, help_text="Overhead lines near where trucks stand.")
    road_limit_kg = models.FloatField(
        null=True, blank=True, help_text="Most a loaded truck may weigh on the way."
    )
    loud_from = models.TimeField(
        null=True, blank=True, help_text="Trucks, trowels and saws may run from then on; empty: always."
    )
    loud_until = models.TimeField(null=True, blank=True, help_text="Until then, the same day.")

    class Meta:
        ordering = ["name", "id"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(latitude__isnull=True) | models.Q(latitude__gte=-90, latitude__lte=90),
                name="site_latitude_on_earth",
            ),
            models.CheckConstraint(
                condition=models.Q(longitude__isnull=True)
                | models.Q(longitude__gte=-180, longitude__lte=180),
                name="site_longitude_on_earth",
            ),
            models.CheckConstraint(
                condition=models.Q(road_limit_kg__isnull=True) | models.Q(road_limit_kg__gt=0),
                name="site_road_limit_positive",
            ),
            models.CheckConstraint(
                condition=models.Q(loud_from__isnull=True, loud_until__isnull=True)
                | models.Q(loud_from__isnull=False, loud_until__gt=models.F("loud_from")),
                name="site_loud_hours_whole",
                violation_error_message="Give both hours for loud work, the later one last, or neither.",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Job(models.Model):
    name = models.CharField(max_length=120)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="jobs")
    customer_name = models.CharField(max_length=120, blank=True)
    customer_phone = PhoneNumberField(blank=True)
    notes = models.TextField(blank=True)

    class Meta:
        ordering = ["name", "id"]

    def __str__(self) -> str:
        return self.name

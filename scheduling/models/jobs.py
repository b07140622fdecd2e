"""Whom the work is for and where it is."""

from django.core.exceptions import ValidationError
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


def every_day() -> list[int]:
    """All days of the week."""
    return [*range(7)]


class SiteHoursKind(models.TextChoices):
    PERMIT = "permit", "work allowed"
    LOUD = "loud", "loud work allowed"


def validate_weekdays(value: object) -> None:
    """Refuse anything but a list of different days of the week."""
    if not isinstance(value, list) or not value or not all(type(day) is int for day in value):
        raise ValidationError("Days are a list of numbers from 0 for Monday to 6 for Sunday.")
    if len(set(value)) < len(value) or not set(value) <= set(every_day()):
        raise ValidationError("Each day is a number from 0 to 6, and can be named only once.")


class SiteHours(models.Model):
    """When a permit allows work at a site, or loud work: on those weekdays, within those dates.

    Of several the one that begins latest decides for a day, so that a season's rule goes before the
    rule of the year. A site without any of a kind has no limit of that kind.
    """

    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="hours")
    kind = models.CharField(max_length=10, choices=SiteHoursKind)
    weekdays = models.JSONField(
        default=every_day, validators=[validate_weekdays], help_text="Numbers, Monday is 0."
    )
    opens_at = models.TimeField()
    closes_at = models.TimeField()
    first_on = models.DateField(null=True, blank=True, help_text="Empty: since ever.")
    last_on = models.DateField(null=True, blank=True, help_text="Itself included; empty: for good.")
    after_sunrise_min = models.SmallIntegerField(
        null=True, blank=True, help_text="Not sooner after sunrise than this; empty: the sun does not count."
    )
    on_holidays = models.BooleanField(default=False, help_text="Holds on public holidays too.")

    class Meta:
        verbose_name_plural = "site hours"
        ordering = ["site", "kind", "id"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(kind__in=SiteHoursKind.values), name="site_hours_kind_known"
            ),
            models.CheckConstraint(
                condition=models.Q(closes_at__gt=models.F("opens_at")), name="site_hours_not_empty"
            ),
            models.CheckConstraint(
                condition=models.Q(first_on__isnull=True)
                | models.Q(last_on__isnull=True)
                | models.Q(last_on__gte=models.F("first_on")),
                name="site_hours_dates_in_order",
            ),
            models.CheckConstraint(
                condition=models.Q(after_sunrise_min__isnull=True)
                | models.Q(after_sunrise_min__gte=-180, after_sunrise_min__lte=360),
                name="site_hours_sunrise_sensible",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.site}: {self.get_kind_display()} {self.opens_at:%H:%M}-{self.closes_at:%H:%M}"


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

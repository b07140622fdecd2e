"""The one company this deployment serves, and what it has settled for itself."""

from datetime import time
from zoneinfo import available_timezones

from django.core.exceptions import ValidationError
from django.db import models


def validate_time_zone(name: str) -> None:
    """Refuse a name that is not in the IANA time zone database."""
    if name not in available_timezones():
        raise ValidationError(f"“{name}” is not a time zone name such as America/Chicago.")


class Units(models.TextChoices):
    US = "us", "US customary"
    METRIC = "metric", "Metric"


class Company(models.Model):
    """Settings of the company; the table holds a single row."""

    name = models.CharField(max_length=120)
    units = models.CharField(max_length=10, choices=Units, default=Units.US)
    time_zone = models.CharField(max_length=64, default="America/Chicago", validators=[validate_time_zone])
    allowance_percent = models.FloatField(default=5.0)
    call_lead_min = models.PositiveSmallIntegerField(
        default=60, help_text="How long before the first truck the crew stands on site."
    )
    age_limit_min = models.PositiveSmallIntegerField(
        default=90, help_text="From water meeting cement to the end of discharge, unless the order says less."
    )
    morning_text_at = models.TimeField(default=time(5, 30), help_text="On the site's own clock.")

    class Meta:
        verbose_name_plural = "company"
        constraints = [
            models.CheckConstraint(condition=models.Q(pk=1), name="company_is_one"),
            models.CheckConstraint(
                condition=models.Q(allowance_percent__gte=0, allowance_percent__lte=50),
                name="company_allowance_sensible",
            ),
            models.CheckConstraint(
                condition=models.Q(age_limit_min__gt=0), name="company_age_limit_positive"
            ),
        ]

    def __str__(self) -> str:
        return self.name

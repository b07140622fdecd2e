"""The one company this deployment serves, and what it has settled for itself."""

from datetime import time
from zoneinfo import available_timezones

from django.core.exceptions import ValidationError
from django.db import models
from holidays import list_supported_countries


def validate_time_zone(name: str) -> None:
    """Refuse a name that is not in the IANA time zone database."""
    if name not in available_timezones():
        raise ValidationError(f"“{name}” is not a time zone name such as America/Chicago.")


def validate_holiday_country(code: str) -> None:
    """Refuse a country whose holidays nobody has written down."""
    if code not in list_supported_countries():
        raise ValidationError(f"“{code}” is not a country whose holidays are known, such as US.")


class Units(models.TextChoices):
    US = "us", "US customary"
    METRIC = "metric", "Metric"


def hours_within(name: str) -> models.CheckConstraint:
    """At most a day, where it is told."""
    return models.CheckConstraint(
        condition=models.Q(**{f"{name}__isnull": True}) | models.Q(**{f"{name}__gt": 0, f"{name}__lte": 24}),
        name=f"company_{name}_sensible",
    )


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
    currency_sign = models.CharField(max_length=4, default="$")
    crew_per_h = models.FloatField(default=250.0, help_text="What an hour of a whole crew standing costs.")
    truck_per_h = models.FloatField(
        default=30.0, help_text="What an hour of a waiting truck is worth to us, beside the plant's own fee."
    )
    rejected_load_cost = models.FloatField(
        default=1500.0, help_text="A load that got too old: its concrete, getting rid of it, another."
    )
    cold_joint_cost = models.FloatField(
        default=5000.0, help_text="A joint in the wrong place, to cut out or live with."
    )
    overtime_per_h = models.FloatField(
        default=125.0, help_text="What an hour of overtime costs beyond an hour of the crew."
    )
    overtime_from = models.TimeField(
        null=True, blank=True, help_text="On the site's own clock; empty: no overtime is paid."
    )
    morning_text_at = models.TimeField(default=time(5, 30), help_text="On the site's own clock.")
    evening_text_at = models.TimeField(
        default=time(16, 30),
        help_text="When people are told of trouble on the next day, by the site's clock.",
    )
    quiet_from = models.TimeField(
        default=time(21), help_text="No texts from then on by the reader's clock, but for safety and work."
    )
    quiet_until = models.TimeField(
        default=time(4), help_text="Until then; who is called earlier is told the evening before."
    )
    office_opens_at = models.TimeField(default=time(7), help_text="On the company's own clock.")
    office_closes_at = models.TimeField(default=time(17), help_text="When the office is reminded no more.")
    office_saturdays = models.BooleanField(default=False, help_text="The office works on Saturdays.")

    holiday_country = models.CharField(
        max_length=2,
        blank=True,
        validators=[validate_holiday_country],
        help_text="Whose holidays count, as US; empty: none are known.",
    )
    holiday_state = models.CharField(
        max_length=5, blank=True, help_text="Its state or province, as KS; empty: the country's own alone."
    )
    longest_day_h = models.FloatField(
        null=True, blank=True, default=12.0, help_text="Most hours of work in a day; empty: no limit."
    )
    least_rest_h = models.FloatField(
        null=True,
        blank=True,
        default=8.0,
        help_text="Least hours from one day's work to the next; empty: no limit.",
    )

    answer_lead_min = models.PositiveSmallIntegerField(
        default=15,
        help_text="How long before the crew stands on site its lead must have answered the morning text; "
        "otherwise dispatch is told.",
    )
    relief_after_h = models.FloatField(
        default=14.0, help_text="So long after the crew came, relief is asked for whoever still finishes."
    )
    unattended_every_min = models.PositiveSmallIntegerField(
        default=45,
        help_text="How often somebody is called about a slab whose finishing nobody has noted as done.",
    )

    version = models.PositiveIntegerField(default=1, editable=False)

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
            models.CheckConstraint(
                condition=models.Q(relief_after_h__gte=1, relief_after_h__lte=36),
                name="company_relief_sensible",
            ),
            models.CheckConstraint(
                condition=models.Q(unattended_every_min__gte=30, unattended_every_min__lte=60),
                name="company_unattended_half_hour_to_hour",
            ),
            models.CheckConstraint(
                condition=models.Q(office_closes_at__gt=models.F("office_opens_at")),
                name="company_office_hours_in_order",
                violation_error_message="The office closes after it opens, on the same day.",
            ),
            models.CheckConstraint(
                condition=models.Q(
                    crew_per_h__gte=0,
                    truck_per_h__gte=0,
                    rejected_load_cost__gte=0,
                    cold_joint_cost__gte=0,
                    overtime_per_h__gte=0,
                ),
                name="company_costs_not_negative",
            ),
            hours_within("longest_day_h"),
            hours_within("least_rest_h"),
        ]

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        """Refuse a state that its country does not have."""
        states = list_supported_countries(include_aliases=False).get(self.holiday_country, [])
        if self.holiday_state and self.holiday_state not in states:
            told = f"“{self.holiday_state}” is not one of {self.holiday_country or 'no country'}'s states."
            raise ValidationError({"holiday_state": told})

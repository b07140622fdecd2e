"""Crews and the people in them."""

from django.conf import settings
from django.db import models
from phonenumber_field.modelfields import PhoneNumberField


class Crew(models.Model):
    name = models.CharField(max_length=60, unique=True)
    lead = models.OneToOneField(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="crew_led"
    )
    straightedge_m = models.FloatField(
        default=4.27, help_text="Length of the straightedge they strike off with."
    )
    rate_factor = models.FloatField(
        default=1.0, help_text="How fast they place against the default rates: 1.1 is a tenth faster."
    )
    active = models.BooleanField(default=True)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(straightedge_m__gt=0), name="crew_straightedge_positive"
            ),
            models.CheckConstraint(
                condition=models.Q(rate_factor__gt=0, rate_factor__lte=5), name="crew_rate_factor_sensible"
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Worker(models.Model):
    """A person who works with a crew; the crew is whom they usually work with."""

    name = models.CharField(max_length=120)
    crew = models.ForeignKey(Crew, null=True, blank=True, on_delete=models.SET_NULL, related_name="workers")
    user = models.OneToOneField(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="worker"
    )
    phone = PhoneNumberField(blank=True)
    places = models.BooleanField(default=True, help_text="Can place and strike off.")
    finishes = models.BooleanField(default=False, help_text="Can run a trowel.")
    saws = models.BooleanField(default=False, help_text="Can cut joints.")
    pumps = models.BooleanField(default=False, help_text="Can run a pump.")
    drives = models.BooleanField(default=False, help_text="Has the licence for our own trucks.")
    heat_from_on = models.DateField(
        null=True,
        blank=True,
        help_text="First day of work in this heat; empty: used to it. For the office and dispatchers alone.",
    )
    heat_before = models.BooleanField(
        default=False, help_text="Has done such work in heat before, and was away from it a week or more."
    )
    active = models.BooleanField(default=True)

    class Meta:
        ordering = ["name", "id"]

    def __str__(self) -> str:
        return self.name

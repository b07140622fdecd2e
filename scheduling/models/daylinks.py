"""Links that open one crew's day on its lead's phone."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from scheduling.models.crews import Crew


class DayLink(models.Model):
    """One crew's day, opened without a password by whoever holds the link until it ends or is taken back.

    The link itself is kept nowhere here: it follows from `nonce` and the service's secret key, and only
    its digest is kept to find the row by.
    """

    crew = models.ForeignKey(Crew, on_delete=models.CASCADE, related_name="day_links")
    lead = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="day_links")
    day = models.DateField(help_text="On the clock of the day's sites.")
    nonce = models.CharField(max_length=32)
    digest = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    last_used_at = models.DateTimeField(null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)
    revoked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )

    class Meta:
        ordering = ["day", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["crew", "lead", "day"],
                condition=Q(revoked_at__isnull=True),
                name="day_link_one_that_opens",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.lead}: {self.day}"

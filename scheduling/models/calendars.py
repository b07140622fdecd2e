"""Addresses from which a person's calendar program fetches their pours."""

from django.conf import settings
from django.db import models
from django.db.models import Q


class CalendarLink(models.Model):
    """An address that opens one person's pours without a password until it is taken back.

    The secret in it is kept nowhere; only its digest is, to find the row by.
    """

    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="calendar_links"
    )
    digest = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    last_used_at = models.DateTimeField(null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["person", "-made_at", "-id"]
        constraints = [
            models.UniqueConstraint(
                fields=["person"], condition=Q(revoked_at__isnull=True), name="calendar_link_one_that_opens"
            ),
        ]

    def __str__(self) -> str:
        return f"calendar of {self.person}"

"""What a person has settled about the week as a whole."""

from django.conf import settings
from django.db import models

from scheduling.models.pours import Pour


class AcceptedClash(models.Model):
    """A clash somebody looked at and said yes to, for these versions of these pours."""

    key = models.CharField(max_length=200, unique=True)
    pour = models.ForeignKey(Pour, on_delete=models.CASCADE, related_name="accepted_clashes")
    accepted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL
    )
    accepted_at = models.DateTimeField()

    class Meta:
        verbose_name_plural = "accepted clashes"
        ordering = ["-accepted_at", "-id"]

    def __str__(self) -> str:
        return self.key

"""When a crew's learned rates begin anew."""

from django.conf import settings
from django.db import models

from scheduling.engine.inputs import Method
from scheduling.models.crews import Crew
from scheduling.models.pours import words


class RateReset(models.Model):
    """From `at` on what the crew places by that method is learned anew; what was before stays kept."""

    crew = models.ForeignKey(Crew, on_delete=models.CASCADE, related_name="rate_resets")
    method = models.CharField(max_length=20, choices=[(m.value, words(m)) for m in Method])
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")

    class Meta:
        ordering = ["crew", "method", "-at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(method__in=[method.value for method in Method]),
                name="rate_reset_method_known",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.crew}, {self.get_method_display()}: reset"

"""What must have been looked at before concrete may come to a pour."""

from django.conf import settings
from django.db import models

from scheduling.models.pours import Pour


class PaperKind(models.TextChoices):
    FORMS = "forms", "forms"
    INSPECTION = "inspection", "inspection"


class Paper(models.Model):
    """Forms to be released, or an inspection to be passed; a pour without such a row needs none.

    `passed_at` empty: still open. What passed opens again when the slab is made otherwise.
    """

    pour = models.ForeignKey(Pour, on_delete=models.CASCADE, related_name="papers")
    kind = models.CharField(max_length=12, choices=PaperKind)
    passed_at = models.DateTimeField(null=True, blank=True)
    passed_by = models.CharField(max_length=120, blank=True, help_text="Who released or passed it.")
    noted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )

    class Meta:
        ordering = ["pour", "kind"]
        constraints = [
            models.UniqueConstraint(fields=["pour", "kind"], name="paper_kind_once_a_pour"),
            models.CheckConstraint(condition=models.Q(kind__in=PaperKind.values), name="paper_kind_known"),
            models.CheckConstraint(
                condition=models.Q(passed_at__isnull=False) | models.Q(passed_by=""),
                name="paper_passed_by_somebody_sometime",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}, {'passed' if self.passed_at else 'open'}"

    @property
    def is_open(self) -> bool:
        return self.passed_at is None

"""Things to be reminded of: each belongs to a pour and follows its plan."""

from django.db import models

from scheduling.models.pours import Pour


class ReminderKind(models.TextChoices):
    EVENING = "evening", "warn of the next day"
    ORDER = "order", "order the concrete"
    CONFIRM = "confirm", "confirm with the plant"
    ON_SITE = "on_site", "be on site"
    FINISH = "finish", "start finishing"
    FIRST_CUT = "first_cut", "first saw cut"
    LAST_CUT = "last_cut", "last saw cut"
    CURE = "cure", "start curing"
    UNANSWERED = "unanswered", "see that the morning text is answered"
    FROST = "frost", "cover against frost"
    PROTECT = "protect", "cover against rain"
    CYLINDERS = "cylinders", "bring the test cylinders"


class ReminderState(models.TextChoices):
    WAITING = "waiting", "waiting"
    SENT = "sent", "sent"
    MISSED = "missed", "missed"
    NOT_NEEDED = "not_needed", "not needed any more"


class Reminder(models.Model):
    """One thing to be reminded of, due at `due_at` and of use until `useful_until`."""

    pour = models.ForeignKey(Pour, on_delete=models.CASCADE, related_name="reminders")
    kind = models.CharField(max_length=10, choices=ReminderKind)
    state = models.CharField(max_length=10, choices=ReminderState, default=ReminderState.WAITING)
    due_at = models.DateTimeField()
    useful_until = models.DateTimeField()
    pour_version = models.PositiveIntegerField()
    not_before = models.DateTimeField(
        null=True, blank=True, help_text="Put off until then by the crew, whatever the plan says."
    )
    answered_at = models.DateTimeField(null=True, blank=True, help_text="When the crew said it is done.")

    class Meta:
        ordering = ["due_at", "id"]
        indexes = [models.Index(fields=["state", "due_at"], name="reminder_state_due")]
        constraints = [
            models.UniqueConstraint(fields=["pour", "kind"], name="reminder_kind_once_a_pour"),
            models.CheckConstraint(
                condition=models.Q(kind__in=ReminderKind.values), name="reminder_kind_known"
            ),
            models.CheckConstraint(
                condition=models.Q(state__in=ReminderState.values), name="reminder_state_known"
            ),
            models.CheckConstraint(
                condition=models.Q(useful_until__gt=models.F("due_at")), name="reminder_window_not_empty"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} for {self.pour}"

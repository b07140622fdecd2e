"""The outbox: every text to a person is a row before it is a message."""

from django.conf import settings
from django.db import models
from phonenumber_field.modelfields import PhoneNumberField

from scheduling.models.people import Language
from scheduling.models.pours import Pour, PourState
from scheduling.models.reminders import Reminder


class MessageState(models.TextChoices):
    QUEUED = "queued", "waiting to be sent"
    SENDING = "sending", "being sent"
    SENT = "sent", "sent"
    DELIVERED = "delivered", "delivered"
    FAILED = "failed", "could not be sent"
    EXPIRED = "expired", "no longer useful, not sent"
    WITHHELD = "withheld", "not sent: they asked for no texts"
    UNKNOWN = "unknown", "perhaps sent: look before sending again"


class MessageKind(models.TextChoices):
    MORNING = "morning", "morning assignment"
    REMINDER = "reminder", "reminder"
    CHANGE = "change", "change of plan"
    CALL_OFF = "call_off", "hold or call-off"
    DISPATCH = "dispatch", "word to dispatch"
    DAY_LINK = "day_link", "link to the day"


class Answer(models.TextChoices):
    """What the recipient texted back to one text."""

    YES = "yes", "yes"
    NO = "no", "no"
    DONE = "done", "done"


class Message(models.Model):
    """A text to one person. `key` makes asking twice for the same text harmless."""

    key = models.CharField(max_length=120, unique=True)
    kind = models.CharField(max_length=12, choices=MessageKind)
    is_urgent = models.BooleanField(default=False, help_text="Goes first, and no brake holds it.")
    state = models.CharField(max_length=10, choices=MessageState, default=MessageState.QUEUED)
    recipient = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="messages")
    phone = PhoneNumberField(blank=True)
    language = models.CharField(max_length=5, choices=Language, default=Language.ENGLISH)
    body = models.TextField()
    made_at = models.DateTimeField()
    due_at = models.DateTimeField()
    useful_until = models.DateTimeField()
    next_try_at = models.DateTimeField()
    tries = models.PositiveSmallIntegerField(default=0)
    claimed_at = models.DateTimeField(null=True, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    delivered_at = models.DateTimeField(null=True, blank=True)
    gateway_key = models.CharField(
        max_length=120, blank=True, db_index=True, help_text="What the gateway calls it."
    )
    reason = models.CharField(max_length=300, blank=True, help_text="Why it was not sent, or failed.")
    reminder = models.ForeignKey(
        Reminder, null=True, blank=True, on_delete=models.SET_NULL, related_name="messages"
    )
    answer = models.CharField(max_length=4, choices=Answer, blank=True)
    answered_at = models.DateTimeField(null=True, blank=True)
    resends = models.PositiveSmallIntegerField(default=0, help_text="How often a person sent it again.")
    decided_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        null=True,
        blank=True,
        on_delete=models.SET_NULL,
        related_name="texts_decided",
        help_text="Who said what became of it when nobody knew.",
    )
    decided_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-due_at", "-id"]
        indexes = [
            models.Index(fields=["state", "next_try_at"], name="message_state_next_try"),
            models.Index(fields=["recipient", "sent_at"], name="message_recipient_sent"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(state__in=MessageState.values), name="message_state_known"
            ),
            models.CheckConstraint(
                condition=models.Q(useful_until__gt=models.F("due_at")), name="message_window_not_empty"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} to {self.recipient}"


class SendingMinute(models.Model):
    """How many texts have been given leave to go in a minute: the brake all workers share."""

    starts_at = models.DateTimeField(unique=True)
    taken = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ["-starts_at"]

    def __str__(self) -> str:
        return f"{self.taken} texts in the minute of {self.starts_at}"


class MessagePour(models.Model):
    """A pour a text speaks of, in the version and state and with the plan the text was written from."""

    message = models.ForeignKey(Message, on_delete=models.CASCADE, related_name="about")
    pour = models.ForeignKey(Pour, on_delete=models.CASCADE, related_name="texts")
    pour_version = models.PositiveIntegerField()
    pour_state = models.CharField(max_length=12, choices=PourState, blank=True)
    # Whose numbers it told; by name, as plans come after texts here.
    plan = models.ForeignKey("Plan", null=True, blank=True, on_delete=models.SET_NULL, related_name="+")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["message", "pour"], name="message_pour_once")]

    def __str__(self) -> str:
        return f"{self.message} about {self.pour}"

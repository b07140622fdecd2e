"""What people text back, and what they agreed to."""

from django.conf import settings
from django.db import models
from phonenumber_field.modelfields import PhoneNumberField

from scheduling.models.messages import Message


class Meaning(models.TextChoices):
    """What a reply was taken to say."""

    YES = "yes", "yes"
    NO = "no", "no"
    LATE = "late", "running late"
    DONE = "done", "done"
    RAVELS = "ravels", "the cut ravels"
    STOP = "stop", "no more texts"
    START = "start", "texts again"
    HELP = "help", "asks for help"
    UNCLEAR = "unclear", "for a person to read"


class Reply(models.Model):
    """A text that came in; one the service hands over twice is kept once."""

    gateway_key = models.CharField(max_length=120, unique=True, help_text="What the gateway calls it.")
    phone = PhoneNumberField()
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="replies"
    )
    body = models.TextField(blank=True)
    received_at = models.DateTimeField()
    meaning = models.CharField(max_length=8, choices=Meaning)
    late_min = models.PositiveSmallIntegerField(null=True, blank=True)
    repeats = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.SET_NULL, help_text="The same words just before."
    )
    message = models.ForeignKey(
        Message, null=True, blank=True, on_delete=models.SET_NULL, help_text="The text it answers."
    )
    answered_with = models.TextField(blank=True, help_text="What was texted back at once.")
    needs_a_look = models.BooleanField(default=False)
    seen_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        null=True,
        blank=True,
        on_delete=models.SET_NULL,
        related_name="replies_seen",
    )
    seen_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        verbose_name_plural = "replies"
        ordering = ["-received_at", "-id"]
        indexes = [
            models.Index(fields=["phone", "received_at"], name="reply_phone_received"),
            models.Index(fields=["needs_a_look", "received_at"], name="reply_needs_a_look"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(meaning__in=Meaning.values), name="reply_meaning_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_meaning_display()} from {self.person or self.phone}"


class ConsentKind(models.TextChoices):
    AGREED = "agreed", "agreed to get texts"
    STOPPED = "stopped", "asked for no texts"
    STARTED = "started", "asked for texts again"


class ConsentWay(models.TextChoices):
    IN_PERSON = "in_person", "told us"
    ON_PAPER = "on_paper", "signed a form"
    BY_TEXT = "by_text", "by text"
    BY_SERVICE = "by_service", "the text service told us"


class Consent(models.Model):
    """Somebody agreed to get texts, or asked for no more: added to, never changed."""

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="consents")
    kind = models.CharField(max_length=8, choices=ConsentKind)
    way = models.CharField(max_length=10, choices=ConsentWay)
    phone = PhoneNumberField(blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        null=True,
        blank=True,
        on_delete=models.SET_NULL,
        related_name="consents_recorded",
        help_text="Who wrote it down; nobody where the person did it by text.",
    )

    class Meta:
        ordering = ["-at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(kind__in=ConsentKind.values), name="consent_kind_known"
            ),
            models.CheckConstraint(condition=models.Q(way__in=ConsentWay.values), name="consent_way_known"),
        ]

    def __str__(self) -> str:
        return f"{self.person} {self.get_kind_display()}"

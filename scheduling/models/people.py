"""Who signs in and who gets texts."""

from django.contrib.auth.models import AbstractUser
from django.db import models
from phonenumber_field.modelfields import PhoneNumberField

from scheduling.roles import Right, Role, allows


class Language(models.TextChoices):
    ENGLISH = "en", "English"
    SPANISH = "es", "Español"


class User(AbstractUser):
    """A person who signs in or gets texts: office, dispatcher or crew lead."""

    role = models.CharField(
        max_length=20,
        choices=[(r.value, r.value.replace("_", " ")) for r in Role],
        default=Role.OFFICE.value,
    )
    phone = PhoneNumberField(blank=True)
    language = models.CharField(max_length=5, choices=Language, default=Language.ENGLISH)
    texts_stopped_at = models.DateTimeField(
        null=True, blank=True, help_text="When they asked for no more texts."
    )
    texts_agreed_at = models.DateTimeField(
        null=True, blank=True, help_text="When they agreed to get texts; without it none are sent."
    )
    bad_phone = PhoneNumberField(blank=True, help_text="A number that texts cannot reach.")
    bad_phone_at = models.DateTimeField(null=True, blank=True)
    bad_phone_reason = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["username"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(role__in=[r.value for r in Role]), name="user_role_known"
            ),
        ]

    def __str__(self) -> str:
        return self.get_full_name() or self.username

    @property
    def phone_is_bad(self) -> bool:
        """Whether texts cannot reach the number they have now; another number is given its chance."""
        return bool(self.phone) and self.phone == self.bad_phone

    def may(self, right: Right) -> bool:
        """Whether this person holds the right (a superuser holds every one)."""
        return self.is_active and (self.is_superuser or allows(self.role, right))

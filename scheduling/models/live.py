"""What people on site note while a pour is under way."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from scheduling.models.pours import Pour


class NoteKind(models.TextChoices):
    TRUCK_ARRIVED = "truck_arrived", "truck on site"
    TRUCK_STARTED = "truck_started", "discharge started"
    TRUCK_EMPTY = "truck_empty", "truck empty"
    PEOPLE_THERE = "people_there", "people on site"
    READY_TO_FINISH = "ready_to_finish", "ready to finish"
    RAVELS = "ravels", "the cut ravels"
    CUT_DONE = "cut_done", "cutting done"
    RAIN = "rain", "rain"
    PROBLEM = "problem", "a problem"


TRUCK_NOTES = (NoteKind.TRUCK_ARRIVED, NoteKind.TRUCK_STARTED, NoteKind.TRUCK_EMPTY)
_OF_A_TRUCK = Q(kind__in=[kind.value for kind in TRUCK_NOTES])


class SiteNote(models.Model):
    """One thing that happened. It is never changed, only taken back; `key` makes a second press harmless."""

    pour = models.ForeignKey(Pour, on_delete=models.CASCADE, related_name="site_notes")
    key = models.CharField(max_length=80, help_text="Made by whoever notes it, new for each press.")
    kind = models.CharField(max_length=20, choices=NoteKind)
    load = models.PositiveSmallIntegerField(null=True, blank=True)
    happened_at = models.DateTimeField()
    noted_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    batch_at = models.DateTimeField(null=True, blank=True, help_text="From the ticket of a truck that came.")
    people = models.PositiveSmallIntegerField(null=True, blank=True)
    words = models.CharField(max_length=300, blank=True)
    undone_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["pour", "happened_at", "id"]
        constraints = [
            models.UniqueConstraint(fields=["pour", "key"], name="note_key_once_a_pour"),
            models.UniqueConstraint(
                fields=["pour", "kind", "load"],
                condition=Q(undone_at__isnull=True) & _OF_A_TRUCK,
                name="note_of_a_load_once",
            ),
            models.CheckConstraint(condition=Q(kind__in=NoteKind.values), name="note_kind_known"),
            models.CheckConstraint(
                condition=(_OF_A_TRUCK & Q(load__gte=1)) | (~_OF_A_TRUCK & Q(load__isnull=True)),
                name="note_load_with_trucks_only",
            ),
            models.CheckConstraint(
                condition=Q(batch_at__isnull=True)
                | Q(kind=NoteKind.TRUCK_ARRIVED, batch_at__lte=F("happened_at")),
                name="note_batched_before_it_arrived",
            ),
            models.CheckConstraint(
                condition=Q(kind=NoteKind.PEOPLE_THERE, people__isnull=False)
                | (~Q(kind=NoteKind.PEOPLE_THERE) & Q(people__isnull=True)),
                name="note_people_counted",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} at {self.pour}"

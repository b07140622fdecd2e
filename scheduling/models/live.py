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
    RAIN_OVER = "rain_over", "rain is over"
    PROBLEM = "problem", "a problem"
    TICKET = "ticket", "ticket read"
    SLUMP = "slump", "slump taken"
    TEMPERATURE = "temperature", "temperature taken"
    REFUSED = "refused", "load refused"
    PHOTO = "photo", "a photo"
    FINISHING_DONE = "finishing_done", "finishing done"
    MEASURED = "measured", "measured what is left"
    BALANCE_ASKED = "balance_asked", "balance load asked for"
    BALANCE_LOADING = "balance_loading", "balance load loading"
    BALANCE_GONE = "balance_gone", "balance load on its way"
    BALANCE_CANCELLED = "balance_cancelled", "balance load cancelled"


TRUCK_NOTES = (NoteKind.TRUCK_ARRIVED, NoteKind.TRUCK_STARTED, NoteKind.TRUCK_EMPTY)
LOAD_NOTES = (*TRUCK_NOTES, NoteKind.TICKET, NoteKind.SLUMP, NoteKind.TEMPERATURE, NoteKind.REFUSED)
BATCH_NOTES = (NoteKind.TRUCK_ARRIVED, NoteKind.TICKET)
BALANCE_NOTES = (
    NoteKind.BALANCE_ASKED,
    NoteKind.BALANCE_LOADING,
    NoteKind.BALANCE_GONE,
    NoteKind.BALANCE_CANCELLED,
)
WITH_VOLUME = (NoteKind.MEASURED, NoteKind.BALANCE_ASKED)


def _any_of(kinds: tuple[NoteKind, ...]) -> Q:
    return Q(kind__in=[kind.value for kind in kinds])


def _with_its_kind(column: str, kind: NoteKind) -> Q:
    return Q(kind=kind, **{f"{column}__isnull": False}) | (~Q(kind=kind) & Q(**{f"{column}__isnull": True}))


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
    m3 = models.FloatField(null=True, blank=True, help_text="Concrete: still to place, or asked for.")
    strip = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Which strip is ready to finish; empty: the first."
    )
    words = models.CharField(max_length=300, blank=True)
    slump_mm = models.FloatField(null=True, blank=True)
    concrete_c = models.FloatField(null=True, blank=True)
    ticket_m3 = models.FloatField(null=True, blank=True, help_text="What the ticket says is on the truck.")
    ticket_mix = models.CharField(max_length=60, blank=True)
    ticket_address = models.CharField(max_length=200, blank=True)
    photo = models.FileField(max_length=100, blank=True)
    undone_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["pour", "happened_at", "id"]
        constraints = [
            models.UniqueConstraint(fields=["pour", "key"], name="note_key_once_a_pour"),
            models.UniqueConstraint(
                fields=["pour", "kind", "load"],
                condition=Q(undone_at__isnull=True) & _any_of(TRUCK_NOTES),
                name="note_of_a_load_once",
            ),
            models.CheckConstraint(condition=Q(kind__in=NoteKind.values), name="note_kind_known"),
            models.CheckConstraint(
                condition=(_any_of(LOAD_NOTES) & Q(load__gte=1))
                | (~_any_of(LOAD_NOTES) & Q(load__isnull=True)),
                name="note_load_with_trucks_only",
            ),
            models.CheckConstraint(
                condition=Q(batch_at__isnull=True)
                | (_any_of(BATCH_NOTES) & Q(batch_at__lte=F("happened_at"))),
                name="note_batched_before_it_arrived",
            ),
            models.CheckConstraint(
                condition=_with_its_kind("people", NoteKind.PEOPLE_THERE), name="note_people_counted"
            ),
            models.CheckConstraint(
                condition=_with_its_kind("slump_mm", NoteKind.SLUMP), name="note_slump_measured"
            ),
            models.CheckConstraint(
                condition=_with_its_kind("concrete_c", NoteKind.TEMPERATURE), name="note_temperature_measured"
            ),
            models.CheckConstraint(
                condition=Q(kind=NoteKind.TICKET)
                | Q(ticket_m3__isnull=True, ticket_mix="", ticket_address=""),
                name="note_ticket_of_a_ticket",
            ),
            models.CheckConstraint(
                condition=(Q(kind=NoteKind.PHOTO) & ~Q(photo="")) | (~Q(kind=NoteKind.PHOTO) & Q(photo="")),
                name="note_photo_there",
            ),
            models.CheckConstraint(
                condition=(_any_of(WITH_VOLUME) & Q(m3__gte=0))
                | (~_any_of(WITH_VOLUME) & Q(m3__isnull=True)),
                name="note_volume_measured",
            ),
            models.CheckConstraint(
                condition=Q(strip__isnull=True) | Q(kind=NoteKind.READY_TO_FINISH, strip__gte=1),
                name="note_strip_ready",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} at {self.pour}"


class Alarm(models.Model):
    """One trouble of a pour under way that somebody must say they have seen."""

    pour = models.ForeignKey(Pour, on_delete=models.CASCADE, related_name="alarms")
    key = models.CharField(max_length=80, help_text="What tells one trouble from the next of the pour.")
    code = models.CharField(max_length=40)
    raised_at = models.DateTimeField()
    passed_on_at = models.DateTimeField(
        null=True, blank=True, help_text="When others were told because nobody said they had seen it."
    )
    acknowledged_at = models.DateTimeField(null=True, blank=True)
    acknowledged_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )

    class Meta:
        ordering = ["pour", "raised_at", "id"]
        constraints = [
            models.UniqueConstraint(fields=["pour", "key"], name="alarm_key_once_a_pour"),
        ]

    def __str__(self) -> str:
        return f"{self.code} at {self.pour}"

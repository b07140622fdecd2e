"""What a person has settled about the week as a whole, and weeks that were proposed to them."""

from django.conf import settings
from django.db import models

from scheduling.models.jobs import Site
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


class ProposalState(models.TextChoices):
    ASKED = "asked", "waiting for a worker"
    WORKING = "working", "being worked on"
    READY = "ready", "ready"
    STOPPED = "stopped", "stopped"
    FAILED = "failed", "failed"
    ACCEPTED = "accepted", "accepted"
    OUT_OF_DATE = "out_of_date", "out of date"


UNDER_WAY = (ProposalState.ASKED, ProposalState.WORKING)
HAS_A_WEEK = (ProposalState.READY, ProposalState.STOPPED)


class WeekProposal(models.Model):
    """A better week that somebody asked for, and how far the work on it has come.

    `base` is each pour of the week as the proposal read it, by its number: what it rests on. `best` and
    `bound` are in tenths of a crew-hour: what the best week so far costs, and what no week goes below.
    """

    monday = models.DateField(help_text="The week, on the office's calendar.")
    lost_on = models.DateField(null=True, blank=True, help_text="A day nothing can be placed on.")
    lost_site = models.ForeignKey(
        Site, null=True, blank=True, on_delete=models.CASCADE, help_text="Where nothing can be placed."
    )
    state = models.CharField(max_length=12, choices=ProposalState, default=ProposalState.ASKED)
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    asked_at = models.DateTimeField()
    stop_asked = models.BooleanField(default=False)
    seen_at = models.DateTimeField(null=True, blank=True, help_text="When its worker last gave a sign.")
    tries = models.PositiveSmallIntegerField(default=0)
    planned = models.PositiveIntegerField(default=0, help_text="Starts planned so far.")
    to_plan = models.PositiveIntegerField(default=0)
    best = models.PositiveIntegerField(null=True, blank=True)
    bound = models.PositiveIntegerField(null=True, blank=True)
    seconds = models.FloatField(default=0.0)
    base = models.JSONField(default=dict)
    result = models.JSONField(null=True, blank=True)
    fault = models.CharField(max_length=200, blank=True)
    settled_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    settled_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-asked_at", "-id"]
        indexes = [models.Index(fields=["monday", "-asked_at"], name="proposal_week")]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(state__in=ProposalState.values), name="proposal_state_known"
            ),
        ]

    def __str__(self) -> str:
        return f"week of {self.monday}, {self.get_state_display()}"


class PartKind(models.TextChoices):
    STARTS = "starts", "starts of a pour"
    SEARCH = "search", "a piece of the search"


class PartState(models.TextChoices):
    WAITING = "waiting", "waiting"
    TAKEN = "taken", "being worked on"
    ANSWERED = "answered", "answered"


class WeekPart(models.Model):
    """A part of the work on a proposal, for whoever claims it first; gone once its answer is read."""

    proposal = models.ForeignKey(WeekProposal, on_delete=models.CASCADE, related_name="parts")
    kind = models.CharField(max_length=8, choices=PartKind)
    state = models.CharField(max_length=8, choices=PartState, default=PartState.WAITING)
    asked = models.BinaryField()
    answer = models.BinaryField(null=True)

    class Meta:
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(condition=models.Q(kind__in=PartKind.values), name="part_kind_known"),
            models.CheckConstraint(condition=models.Q(state__in=PartState.values), name="part_state_known"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}, {self.get_state_display()}"


class SharedWeek(models.Model):
    """What all pieces of a proposal's search have in common: the week as it is asked about."""

    proposal = models.OneToOneField(WeekProposal, primary_key=True, on_delete=models.CASCADE)
    problem = models.BinaryField()

    def __str__(self) -> str:
        return f"what is asked about the {self.proposal}"

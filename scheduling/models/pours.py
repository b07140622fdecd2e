"""Pours: what is placed, where, when, by whom and how."""

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import BaseValidator, MaxValueValidator, MinValueValidator
from django.db import models

from scheduling.engine.inputs import AllowanceKind, Finish, Method, Reinforcement, SawType, Screed, Side
from scheduling.models.crews import Crew
from scheduling.models.jobs import Job
from scheduling.models.plants import Mix, Plant


class PourState(models.TextChoices):
    BOOKED = "booked", "booked"
    ON_HOLD = "on_hold", "on hold"
    PLACED = "placed", "placed"
    CANCELLED = "cancelled", "cancelled"


STANDING = (PourState.BOOKED, PourState.ON_HOLD)


def words(value: str) -> str:
    """An engine word as a person reads it."""
    return value.replace("_", " ")


SIDES = [(side.value, side.value) for side in Side]

# Least and most of what is said of the placing; what is not said is null, and the engine's own counts.
PLACING_LIMITS: dict[str, tuple[float, float]] = {
    "reach_m": (0, 1000),
    "carry_m": (0, 1000),
    "rise_m": (0, 30),
    "barrow_m3": (0.01, 0.5),
    "carts": (1, 60),
    "line_m": (0, 500),
    "hose_moves": (0, 100),
    "pump_moves": (0, 20),
    "slump_mm": (0, 300),
    "slope": (0, 0.5),
}


def within(name: str) -> list[BaseValidator]:
    least, most = PLACING_LIMITS[name]
    return [MinValueValidator(least), MaxValueValidator(most)]


def validate_sides(value: object) -> None:
    """Refuse anything but a list of different sides of a slab."""
    known = {word for word, _ in SIDES}
    if not isinstance(value, list) or not all(isinstance(item, str) and item in known for item in value):
        raise ValidationError(f"Sides are a list of: {', '.join(sorted(known))}.")
    if len(set(value)) < len(value):
        raise ValidationError("A side can be named only once.")


def placing_limits() -> list[models.CheckConstraint]:
    """The limits as the database keeps them."""
    return [
        models.CheckConstraint(
            condition=models.Q(**{f"{name}__isnull": True})
            | models.Q(**{f"{name}__gte": least, f"{name}__lte": most}),
            name=f"pour_{name}_within_limits",
        )
        for name, (least, most) in PLACING_LIMITS.items()
    ]


class Pour(models.Model):
    """One visit of trucks to one site. `starts_at` is when the first truck begins to discharge.

    `version` goes up with every change that another person must know of; a caller that changes a
    pour says which version it read.
    """

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="pours")
    title = models.CharField(max_length=120, blank=True)
    state = models.CharField(max_length=12, choices=PourState, default=PourState.BOOKED)
    version = models.PositiveIntegerField(default=1)
    starts_at = models.DateTimeField()

    plant = models.ForeignKey(Plant, on_delete=models.PROTECT, related_name="pours")
    mix = models.ForeignKey(Mix, on_delete=models.PROTECT, related_name="pours")
    concrete_c = models.FloatField(
        null=True, blank=True, help_text="As delivered; empty: by its ingredients, else from the air."
    )
    water_c = models.FloatField(
        null=True,
        blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(85)],
        help_text="Of the mixing water.",
    )
    aggregate_c = models.FloatField(
        null=True,
        blank=True,
        validators=[MinValueValidator(-20), MaxValueValidator(80)],
        help_text="Of sand and stone.",
    )
    ice_kg_m3 = models.FloatField(
        default=0.0,
        validators=[MinValueValidator(0), MaxValueValidator(150)],
        help_text="What of the mixing water goes in as ice, in a m³.",
    )
    age_limit_min = models.PositiveSmallIntegerField(null=True, blank=True)
    trucks = models.PositiveSmallIntegerField(null=True, blank=True)
    haul_min = models.FloatField(null=True, blank=True)
    allowance_kind = models.CharField(
        max_length=10,
        choices=[(k.value, words(k)) for k in AllowanceKind],
        default=AllowanceKind.PERCENT.value,
    )
    allowance_value = models.FloatField(
        default=5.0, help_text="Percent, metres of depth, or the confidence wanted of the spread."
    )
    hold_last_load = models.BooleanField(default=True)

    crew = models.ForeignKey(Crew, null=True, blank=True, on_delete=models.PROTECT, related_name="pours")
    people = models.PositiveSmallIntegerField(default=5)
    spotter = models.CharField(
        max_length=60, blank=True, help_text="Who guides trucks that must back, and is not at the chute."
    )
    method = models.CharField(
        max_length=20, choices=[(m.value, words(m)) for m in Method], default=Method.CHUTE.value
    )
    reach_m = models.FloatField(null=True, blank=True, validators=within("reach_m"))
    reinforcement = models.CharField(
        max_length=10, choices=[(r.value, words(r)) for r in Reinforcement], default=Reinforcement.NONE.value
    )
    screed = models.CharField(
        max_length=10, choices=[(s.value, words(s)) for s in Screed], default=Screed.HAND.value
    )
    carry_m = models.FloatField(
        null=True,
        blank=True,
        validators=within("carry_m"),
        help_text="How far barrows or a buggy go, one way.",
    )
    rise_m = models.FloatField(
        null=True, blank=True, validators=within("rise_m"), help_text="What they climb on the way."
    )
    barrow_m3 = models.FloatField(
        null=True, blank=True, validators=within("barrow_m3"), help_text="What one barrow holds."
    )
    carts = models.PositiveSmallIntegerField(
        null=True, blank=True, validators=within("carts"), help_text="Barrows or buggies there are."
    )
    line_m = models.FloatField(
        null=True, blank=True, validators=within("line_m"), help_text="How long the pump's line is."
    )
    hose_moves = models.PositiveSmallIntegerField(null=True, blank=True, validators=within("hose_moves"))
    pump_moves = models.PositiveSmallIntegerField(null=True, blank=True, validators=within("pump_moves"))
    fibres = models.BooleanField(default=False)
    slump_mm = models.FloatField(null=True, blank=True, validators=within("slump_mm"))
    slope = models.FloatField(
        null=True, blank=True, validators=within("slope"), help_text="Fall of the surface over its run."
    )
    truck_sides = models.JSONField(
        default=list,
        blank=True,
        validators=[validate_sides],
        help_text="Sides of the slab that trucks can discharge from; none: not asked.",
    )
    trucks_on_base = models.BooleanField(default=False, help_text="Trucks drive onto the base.")
    indoors = models.BooleanField(default=False)
    base_c = models.FloatField(
        null=True,
        blank=True,
        validators=[MinValueValidator(-40), MaxValueValidator(60)],
        help_text="Temperature of the base as somebody read it; empty: not read.",
    )
    base_frozen = models.BooleanField(default=False, help_text="Frost was seen in the base.")
    blankets = models.BooleanField(default=False, help_text="Blankets go on once it is finished.")
    finishers = models.PositiveSmallIntegerField(default=2)
    finish = models.CharField(
        max_length=10, choices=[(f.value, words(f)) for f in Finish], default=Finish.TROWEL.value
    )
    decorative = models.BooleanField(
        default=False, help_text="Colored, stamped or with stone to see: nothing may stain it."
    )
    power_trowels = models.PositiveSmallIntegerField(default=1)
    test_cylinders = models.PositiveSmallIntegerField(
        default=0, help_text="Test cylinders the crew makes and brings to the laboratory."
    )
    saw = models.CharField(
        max_length=20, choices=[(s.value, words(s)) for s in SawType], default=SawType.CONVENTIONAL.value
    )
    joint_spacing_m = models.FloatField(null=True, blank=True)
    call_lead_min = models.PositiveSmallIntegerField(null=True, blank=True)
    notes = models.TextField(blank=True)

    promised_by = models.DateField(
        null=True, blank=True, help_text="The last day that was promised to the customer, itself included."
    )

    plan = models.ForeignKey(
        "scheduling.Plan", null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    booked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        null=True,
        blank=True,
        on_delete=models.SET_NULL,
        related_name="pours_booked",
    )
    booked_at = models.DateTimeField()
    booking_key = models.CharField(
        max_length=36,
        null=True,
        blank=True,
        unique=True,
        editable=False,
        help_text="Of the page it was booked on, so that a second press books nothing twice.",
    )

    class Meta:
        ordering = ["starts_at", "id"]
        indexes = [
            models.Index(fields=["starts_at", "state"], name="pour_starts_state"),
            models.Index(fields=["crew", "starts_at"], name="pour_crew_starts"),
        ]
        constraints = [
            models.CheckConstraint(condition=models.Q(state__in=PourState.values), name="pour_state_known"),
            models.CheckConstraint(
                condition=models.Q(people__gte=1, people__lte=60, finishers__gte=1, finishers__lte=60),
                name="pour_people_sensible",
            ),
            models.CheckConstraint(condition=models.Q(version__gte=1), name="pour_version_positive"),
            models.CheckConstraint(
                condition=models.Q(allowance_value__gte=0), name="pour_allowance_not_negative"
            ),
            models.CheckConstraint(
                condition=models.Q(haul_min__isnull=True) | models.Q(haul_min__gte=0),
                name="pour_haul_not_negative",
            ),
            *placing_limits(),
        ]

    def __str__(self) -> str:
        return f"{self.job} {self.title}".strip()

    @property
    def is_standing(self) -> bool:
        """Whether it is still going to happen."""
        return self.state in STANDING

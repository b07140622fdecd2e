"""Concrete plants, when they are open, and the mixes they sell."""

from datetime import time

from django.core.exceptions import ValidationError
from django.db import models
from phonenumber_field.modelfields import PhoneNumberField

from scheduling.engine.inputs import Admixture, Counted
from scheduling.models.company import validate_time_zone

COUNTED = [
    (Counted.EXACT.value, "to the minute"),
    (Counted.STARTED.value, "every block begun"),
    (Counted.FULL.value, "only full blocks"),
]
ADMIXTURES = [(a.value, a.value.replace("_", " ")) for a in Admixture]


def validate_admixtures(value: object) -> None:
    """Refuse anything but a list of admixtures we know."""
    known = {word for word, _ in ADMIXTURES}
    if not isinstance(value, list) or not all(isinstance(item, str) and item in known for item in value):
        raise ValidationError(f"Admixtures are a list of: {', '.join(sorted(known))}.")


class Plant(models.Model):
    name = models.CharField(max_length=120, unique=True)
    phone = PhoneNumberField(blank=True)
    time_zone = models.CharField(max_length=64, default="America/Chicago", validators=[validate_time_zone])
    truck_m3 = models.FloatField(default=7.64554857984, help_text="What one of its trucks carries.")
    payload_kg = models.FloatField(null=True, blank=True)
    truck_empty_kg = models.FloatField(null=True, blank=True)
    trucks = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Most trucks it will send one pour."
    )
    order_step_m3 = models.FloatField(default=0.191138714496, help_text="It sells in steps of this.")
    minimum_load_m3 = models.FloatField(default=0.0, help_text="A load below this costs a fee.")
    rate_m3_h = models.FloatField(null=True, blank=True, help_text="Most it can batch in an hour.")
    loading_min = models.FloatField(default=5.0)
    usual_haul_min = models.FloatField(default=25.0)
    washout_min = models.FloatField(default=5.0)
    age_limit_min = models.PositiveSmallIntegerField(null=True, blank=True)
    late_sd_min = models.FloatField(
        null=True,
        blank=True,
        help_text="How far its trucks stray from their times, as a standard deviation in minutes.",
    )
    wait_price = models.FloatField(
        null=True,
        blank=True,
        help_text="What it charges for a truck kept too long, for each block of minutes; empty: as is usual.",
    )
    wait_block_min = models.FloatField(default=1.0, help_text="Minutes in a block: 1, or 60 by the hour.")
    wait_counted = models.CharField(max_length=10, choices=COUNTED, default=Counted.EXACT.value)
    wait_free_min = models.FloatField(default=0.0, help_text="Minutes on site that every truck has free.")
    wait_free_min_per_m3 = models.FloatField(
        default=0.0, help_text="Minutes free for each m³ it brings: 7 a yard are 9.16."
    )
    order_cutoff_at = models.TimeField(
        default=time(15, 0), help_text="Orders for tomorrow by this time on its last open day before."
    )
    open_on_holidays = models.BooleanField(
        null=True,
        blank=True,
        help_text="Whether it batches on public holidays; empty: not known, and to be asked.",
    )
    change_notice_h = models.FloatField(
        null=True,
        blank=True,
        help_text="Until so many hours before the first truck a change is free; empty: not known.",
    )
    late_change_fee = models.FloatField(
        default=0.0, help_text="What it asks for an order changed or cancelled later than that."
    )
    active = models.BooleanField(default=True)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                condition=(
                    models.Q(change_notice_h__isnull=True)
                    | models.Q(change_notice_h__gte=0, change_notice_h__lte=168)
                )
                & models.Q(late_change_fee__gte=0),
                name="plant_change_terms_sensible",
            ),
            models.CheckConstraint(
                condition=models.Q(truck_m3__gt=0, truck_m3__lte=20), name="plant_truck_sensible"
            ),
            models.CheckConstraint(condition=models.Q(order_step_m3__gt=0), name="plant_order_step_positive"),
            models.CheckConstraint(
                condition=models.Q(minimum_load_m3__gte=0), name="plant_minimum_not_negative"
            ),
            models.CheckConstraint(
                condition=models.Q(loading_min__gte=0, usual_haul_min__gte=0, washout_min__gte=0),
                name="plant_minutes_not_negative",
            ),
            models.CheckConstraint(
                condition=models.Q(late_sd_min__isnull=True)
                | models.Q(late_sd_min__gte=0, late_sd_min__lte=120),
                name="plant_lateness_sensible",
            ),
            models.CheckConstraint(
                condition=models.Q(wait_price__isnull=True) | models.Q(wait_price__gte=0),
                name="plant_wait_price_not_negative",
            ),
            models.CheckConstraint(
                condition=models.Q(wait_block_min__gt=0, wait_free_min__gte=0, wait_free_min_per_m3__gte=0),
                name="plant_wait_rule_sensible",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class PlantHours(models.Model):
    """When a plant batches on a weekday; no row means closed. Monday is 0."""

    plant = models.ForeignKey(Plant, on_delete=models.CASCADE, related_name="hours")
    weekday = models.PositiveSmallIntegerField()
    opens_at = models.TimeField()
    closes_at = models.TimeField()
    last_batch_at = models.TimeField(
        null=True, blank=True, help_text="It batches the last load by then; empty: until it closes."
    )

    class Meta:
        verbose_name_plural = "plant hours"
        ordering = ["plant", "weekday"]
        constraints = [
            models.UniqueConstraint(fields=["plant", "weekday"], name="plant_hours_once_a_weekday"),
            models.CheckConstraint(condition=models.Q(weekday__lte=6), name="plant_hours_weekday_known"),
            models.CheckConstraint(
                condition=models.Q(closes_at__gt=models.F("opens_at")), name="plant_hours_not_empty"
            ),
            models.CheckConstraint(
                condition=models.Q(last_batch_at__isnull=True)
                | models.Q(last_batch_at__gt=models.F("opens_at"), last_batch_at__lte=models.F("closes_at")),
                name="plant_last_batch_within_hours",
                violation_error_message="The last load is batched while the plant is open.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.plant} {self.weekday} {self.opens_at:%H:%M}-{self.closes_at:%H:%M}"


class PlantClosure(models.Model):
    """A day a plant that would be open is shut: a holiday, a breakdown."""

    plant = models.ForeignKey(Plant, on_delete=models.CASCADE, related_name="closures")
    on = models.DateField()
    reason = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["on"]
        constraints = [models.UniqueConstraint(fields=["plant", "on"], name="plant_closure_once_a_day")]

    def __str__(self) -> str:
        return f"{self.plant} shut on {self.on}"


class PlantOpening(models.Model):
    """A day a plant said it opens though its hours or a holiday would leave that open: its hours then."""

    plant = models.ForeignKey(Plant, on_delete=models.CASCADE, related_name="openings")
    on = models.DateField()
    opens_at = models.TimeField()
    closes_at = models.TimeField(help_text="The last load is batched by then.")

    class Meta:
        ordering = ["on"]
        constraints = [
            models.UniqueConstraint(fields=["plant", "on"], name="plant_opening_once_a_day"),
            models.CheckConstraint(
                condition=models.Q(closes_at__gt=models.F("opens_at")), name="plant_opening_not_empty"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.plant} open on {self.on}"


class FeeDay(models.TextChoices):
    SATURDAY = "saturday", "Saturdays"
    SUNDAY = "sunday", "Sundays"
    HOLIDAY = "holiday", "public holidays"


class PlantFee(models.Model):
    """What a plant asks on top of its price on such a day: once, and for each m³."""

    plant = models.ForeignKey(Plant, on_delete=models.CASCADE, related_name="fees")
    day = models.CharField(max_length=10, choices=FeeDay)
    flat = models.FloatField(default=0.0)
    per_m3 = models.FloatField(default=0.0, help_text="10 a yard are 13.08.")

    class Meta:
        ordering = ["plant", "day"]
        constraints = [
            models.UniqueConstraint(fields=["plant", "day"], name="plant_fee_once_a_day"),
            models.CheckConstraint(condition=models.Q(day__in=FeeDay.values), name="plant_fee_day_known"),
            models.CheckConstraint(
                condition=models.Q(flat__gte=0, per_m3__gte=0), name="plant_fee_not_negative"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.plant}, {self.get_day_display()}"


MIX_MASSES_KG_M3 = {"cement_kg_m3": 1000, "water_kg_m3": 500, "aggregate_kg_m3": 3000}


def masses_within(name: str, most: float) -> models.CheckConstraint:
    """What a mass may be, where it is told."""
    return models.CheckConstraint(
        condition=models.Q(**{f"{name}__isnull": True})
        | models.Q(**{f"{name}__gt": 0, f"{name}__lte": most}),
        name=f"mix_{name}_sensible",
    )


class Mix(models.Model):
    plant = models.ForeignKey(Plant, on_delete=models.CASCADE, related_name="mixes")
    code = models.CharField(max_length=40)
    strength_mpa = models.FloatField()
    aggregate_mm = models.FloatField()
    density_kg_m3 = models.FloatField(default=2400.0)
    cement_kg_m3 = models.FloatField(
        null=True, blank=True, help_text="Cementing material in a m³; empty: an ordinary mix's."
    )
    water_kg_m3 = models.FloatField(null=True, blank=True, help_text="All the mixing water in a m³.")
    aggregate_kg_m3 = models.FloatField(null=True, blank=True, help_text="Sand and stone in a m³, dry.")
    fly_ash_fraction = models.FloatField(default=0.0)
    slag_fraction = models.FloatField(default=0.0)
    silica_fume = models.BooleanField(default=False)
    calcium_chloride_fraction = models.FloatField(
        default=0.0, help_text="Of the cementing material, by weight; at most 0.02."
    )
    admixtures = models.JSONField(default=list, blank=True, validators=[validate_admixtures])
    active = models.BooleanField(default=True)

    class Meta:
        verbose_name_plural = "mixes"
        ordering = ["plant", "code"]
        constraints = [
            models.UniqueConstraint(fields=["plant", "code"], name="mix_code_once_a_plant"),
            models.CheckConstraint(
                condition=models.Q(strength_mpa__gt=0, aggregate_mm__gt=0), name="mix_numbers_positive"
            ),
            models.CheckConstraint(
                condition=models.Q(density_kg_m3__gte=1000, density_kg_m3__lte=4000),
                name="mix_density_sensible",
            ),
            *(masses_within(name, most) for name, most in MIX_MASSES_KG_M3.items()),
            models.CheckConstraint(
                condition=models.Q(
                    fly_ash_fraction__gte=0,
                    fly_ash_fraction__lte=0.7,
                    slag_fraction__gte=0,
                    slag_fraction__lte=0.9,
                    calcium_chloride_fraction__gte=0,
                    calcium_chloride_fraction__lte=0.02,
                ),
                name="mix_fractions_sensible",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.code} ({self.plant})"

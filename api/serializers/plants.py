"""Plants with their calendars, and the mixes they sell."""

from typing import Any

from rest_framework import serializers

from api.choices import ADMIXTURE, COUNT, WEEKDAY
from api.fields import ClockField, DayField, NumberField, QuantityField, TextField, TruthField, WholeField
from api.serializers.base import Closed, MeantRate, Record, rows
from scheduling.models import FeeDay, Mix, Plant
from scheduling.quantities import Dimension
from scheduling.services.plants import keep_plant

CALENDAR = ("hours", "closures", "openings", "fees")
DAYS = [day for day, _ in WEEKDAY]
MOST_MINUTES = 600


def minutes(**settings: Any) -> QuantityField:
    """A field for a time of some minutes."""
    return QuantityField(Dimension.MINUTES, **{"least": 0, "most": MOST_MINUTES, **settings})


def once_each(days: list[dict[str, Any]], column: str) -> list[dict[str, Any]]:
    """The rows, if no two are of the same day."""
    if len({day[column] for day in days}) < len(days):
        raise serializers.ValidationError("A day can stand here only once.", code="doubled_day")
    return days


class WeekdayField(serializers.ChoiceField):
    """A weekday by its name; kept as a number from Monday on."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(choices=WEEKDAY, **kwargs)

    def to_internal_value(self, data: Any) -> Any:
        return DAYS.index(super().to_internal_value(data))

    def to_representation(self, value: Any) -> str:
        return DAYS[value]


class HoursRow(Closed):
    """When the plant batches on a weekday."""

    weekday = WeekdayField()
    opens_at = ClockField()
    closes_at = ClockField()
    last_batch_at = ClockField(
        required=False,
        allow_null=True,
        help_text="The last load is batched by then; without it, until it closes.",
    )

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if attrs["closes_at"] <= attrs["opens_at"]:
            raise serializers.ValidationError({"closes_at": "A plant closes after it opens."})
        last = attrs.get("last_batch_at")
        if last is not None and not attrs["opens_at"] < last <= attrs["closes_at"]:
            raise serializers.ValidationError({"last_batch_at": "It batches while it is open."})
        return attrs


class ClosureRow(Closed):
    """A day the plant is shut though its hours say otherwise."""

    on = DayField()
    reason = TextField(max_length=120, required=False, allow_blank=True)


class OpeningRow(Closed):
    """A day the plant said it opens though its hours or a holiday would leave that open."""

    on = DayField()
    opens_at = ClockField()
    closes_at = ClockField(help_text="The last load is batched by then.")

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if attrs["closes_at"] <= attrs["opens_at"]:
            raise serializers.ValidationError({"closes_at": "A plant closes after it opens."})
        return attrs


class FeeRow(Closed):
    """What the plant asks on top of its price on such days."""

    day = serializers.ChoiceField(choices=FeeDay.choices)
    flat = NumberField(
        min_value=0, max_value=1_000_000, required=False, help_text="Once, whatever is ordered."
    )
    per_m3 = NumberField(
        min_value=0, max_value=10_000, required=False, help_text="For each m³: 10 a yard are 13.08."
    )


class PlantFacts(Closed):
    """What of a plant decides how its trucks come."""

    truck = QuantityField(
        Dimension.VOLUME, source="truck_m3", least=0.5, most=20, required=False,
        help_text="What one of its trucks carries.",
    )  # fmt: skip
    payload = QuantityField(
        Dimension.MASS, source="payload_kg", least=500, most=100_000, required=False, allow_null=True,
        help_text="The weight of concrete one of its trucks may carry.",
    )  # fmt: skip
    truck_empty = QuantityField(
        Dimension.MASS, source="truck_empty_kg", least=500, most=100_000, required=False, allow_null=True,
        help_text="What one of its trucks weighs empty.",
    )  # fmt: skip
    trucks = WholeField(
        min_value=1, max_value=200, required=False, allow_null=True, help_text="Most it will send one pour."
    )
    order_step = QuantityField(
        Dimension.VOLUME, source="order_step_m3", least=0.01, most=10, required=False,
        help_text="It sells in steps of this.",
    )  # fmt: skip
    minimum_load = QuantityField(
        Dimension.VOLUME, source="minimum_load_m3", least=0, most=20, required=False,
        help_text="A load below this costs a fee.",
    )  # fmt: skip
    rate = QuantityField(
        Dimension.VOLUME_RATE, source="rate_m3_h", least=1, most=2000, required=False, allow_null=True,
        help_text="Most it can batch in an hour.",
    )  # fmt: skip
    loading = minutes(source="loading_min", required=False, help_text="How long a truck loads.")
    usual_haul = minutes(source="usual_haul_min", required=False, help_text="From the plant to most sites.")
    washout = minutes(source="washout_min", required=False)
    age_limit = minutes(
        source="age_limit_min", least=1, whole=True, required=False, allow_null=True,
        help_text="From water meeting cement to the end of discharge.",
    )  # fmt: skip
    lateness = minutes(
        source="late_sd_min", most=120, required=False, allow_null=True,
        help_text="How far its trucks stray from their times, as a standard deviation; without it, 8 min.",
    )  # fmt: skip
    wait_price = NumberField(
        min_value=0, max_value=10_000, required=False, allow_null=True,
        help_text="What it charges for a truck kept too long, for each block; without it, as is usual.",
    )  # fmt: skip
    wait_block = minutes(
        source="wait_block_min",
        least=0.5,
        required=False,
        help_text="How long a block is; 1 min if not said.",
    )
    wait_counted = serializers.ChoiceField(
        choices=COUNT,
        required=False,
        help_text="Whether parts of a block count: “exact”, “started” or “full”.",
    )
    wait_free = minutes(
        source="wait_free_min", required=False, help_text="Time on site that every truck has free."
    )
    wait_free_by_volume = QuantityField(
        Dimension.MINUTES_A_VOLUME, source="wait_free_min_per_m3", least=0, most=120, required=False,
        help_text="Time free for what the truck brings, beside the other.",
    )  # fmt: skip


class PlantRecord(PlantFacts, MeantRate, Record):
    RATE = ("rate", "rate_m3_h")

    order_cutoff_at = ClockField(
        required=False,
        help_text="Orders for tomorrow by this time on its last open day before, on the plant's clock.",
    )
    change_notice_h = NumberField(
        min_value=0, max_value=168, required=False, allow_null=True,
        help_text="Hours before the first truck until which an order is changed free; null: not known.",
    )  # fmt: skip
    late_change_fee = NumberField(
        min_value=0, max_value=1_000_000, required=False, help_text="What a later change or cancelling costs."
    )
    hours = rows(HoursRow, required=False, max_length=7,
        help_text="A plant without any is taken to batch at all hours.",
    )  # fmt: skip
    closures = rows(ClosureRow, required=False, max_length=366)
    openings = rows(OpeningRow, required=False, max_length=366)
    fees = rows(FeeRow, required=False, max_length=3)
    open_on_holidays = TruthField(
        required=False, allow_null=True, help_text="Whether it batches on public holidays; null: not known."
    )

    class Meta:
        model = Plant
        fields = [
            "id", "name", "phone", "time_zone", *PlantFacts().fields, "order_cutoff_at", "active",
            "hours", "closures", "openings", "fees", "open_on_holidays",
            "change_notice_h", "late_change_fee", "confirm_rate",
        ]  # fmt: skip

    def validate_hours(self, days: list[dict[str, Any]]) -> list[dict[str, Any]]:
        return once_each(days, "weekday")

    def validate_closures(self, days: list[dict[str, Any]]) -> list[dict[str, Any]]:
        return once_each(days, "on")

    def validate_openings(self, days: list[dict[str, Any]]) -> list[dict[str, Any]]:
        return once_each(days, "on")

    def validate_fees(self, days: list[dict[str, Any]]) -> list[dict[str, Any]]:
        return once_each(days, "day")

    def create(self, columns: dict[str, Any]) -> Plant:
        calendar = {name: columns.pop(name, None) for name in CALENDAR}
        return keep_plant(plant=Plant(**columns), **calendar)

    def update(self, plant: Plant, columns: dict[str, Any]) -> Plant:
        calendar = {name: columns.pop(name, None) for name in CALENDAR}
        for name, value in columns.items():
            setattr(plant, name, value)
        return keep_plant(plant=plant, **calendar)


class MixFacts(Closed):
    """What of a mix decides how it is placed, how it sets and what it weighs."""

    strength = QuantityField(Dimension.STRENGTH, source="strength_mpa", least=1, most=150)
    aggregate = QuantityField(
        Dimension.AGGREGATE, source="aggregate_mm", least=1, most=150, help_text="The largest stone."
    )
    density = QuantityField(Dimension.DENSITY, source="density_kg_m3", least=1000, most=4000, required=False)
    cement = QuantityField(
        Dimension.DENSITY, source="cement_kg_m3", least=50, most=1000, required=False, allow_null=True,
        help_text="Weight of cementing material in a yard or m³.",
    )  # fmt: skip
    water = QuantityField(
        Dimension.DENSITY, source="water_kg_m3", least=50, most=500, required=False, allow_null=True,
        help_text="Weight of all the mixing water in a yard or m³.",
    )  # fmt: skip
    sand_and_stone = QuantityField(
        Dimension.DENSITY, source="aggregate_kg_m3", least=100, most=3000, required=False, allow_null=True,
        help_text="Weight of dry sand and stone in a yard or m³.",
    )  # fmt: skip
    fly_ash = QuantityField(
        Dimension.FRACTION, source="fly_ash_fraction", least=0, most=0.7, required=False,
        help_text="Part of the cementing material.",
    )  # fmt: skip
    slag = QuantityField(
        Dimension.FRACTION, source="slag_fraction", least=0, most=0.9, required=False,
        help_text="Part of the cementing material.",
    )  # fmt: skip
    silica_fume = TruthField(required=False)
    calcium_chloride = QuantityField(
        Dimension.FRACTION, source="calcium_chloride_fraction", least=0, most=0.02, required=False,
        help_text="Part of the cementing material, by weight; never over 2 %.",
    )  # fmt: skip
    admixtures = serializers.ListField(
        child=serializers.ChoiceField(choices=ADMIXTURE), required=False, max_length=len(ADMIXTURE)
    )


class MixRecord(MixFacts, Record):
    class Meta:
        model = Mix
        fields = ["id", "plant", "code", *MixFacts().fields, "active"]

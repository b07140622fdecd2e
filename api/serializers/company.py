"""What the company has settled for itself."""

from typing import Any

from rest_framework import serializers

from api.fields import NumberField, QuantityField
from api.serializers.base import Record
from api.serializers.plants import MOST_MINUTES
from api.serializers.pours import Versioned
from scheduling.models import Company
from scheduling.quantities import Dimension


def told_of(name: str) -> str:
    """What the office reads beside the setting in the records."""
    return str(getattr(Company, name).field.help_text)


def settled(name: str, dimension: Dimension, least: float, most: float, **settings: Any) -> QuantityField:
    """A setting that is a quantity."""
    whole = name.endswith("_min")
    return QuantityField(
        dimension,
        source=name,
        least=least,
        most=most,
        whole=whole,
        required=False,
        help_text=told_of(name),
        **settings,
    )


def money(name: str) -> NumberField:
    return NumberField(min_value=0, max_value=1_000_000, required=False, help_text=told_of(name))


class CompanyRecord(Record, Versioned):
    """The settings of the company; costs are in its own currency."""

    allowance = settled("allowance_percent", Dimension.PERCENT, 0, 50)
    call_lead = settled("call_lead_min", Dimension.MINUTES, 0, MOST_MINUTES)
    age_limit = settled("age_limit_min", Dimension.MINUTES, 1, MOST_MINUTES)
    answer_lead = settled("answer_lead_min", Dimension.MINUTES, 0, MOST_MINUTES)
    unattended_every = settled("unattended_every_min", Dimension.MINUTES, 30, 60)
    relief_after = settled("relief_after_h", Dimension.HOURS, 1, 36)
    longest_day = settled("longest_day_h", Dimension.HOURS, 0.25, 24, allow_null=True)
    least_rest = settled("least_rest_h", Dimension.HOURS, 0.25, 24, allow_null=True)
    crew_per_h = money("crew_per_h")
    truck_per_h = money("truck_per_h")
    rejected_load_cost = money("rejected_load_cost")
    cold_joint_cost = money("cold_joint_cost")
    overtime_per_h = money("overtime_per_h")
    holiday_country = serializers.CharField(
        max_length=2, required=False, allow_blank=True, help_text="Whose holidays count, as US; empty: none."
    )

    class Meta:
        model = Company
        fields = [
            "version", "name", "units", "time_zone", "allowance", "call_lead", "age_limit", "currency_sign",
            "crew_per_h", "truck_per_h", "rejected_load_cost", "cold_joint_cost", "overtime_per_h",
            "overtime_from", "morning_text_at", "evening_text_at", "quiet_from", "quiet_until",
            "office_opens_at", "office_closes_at", "office_saturdays", "holiday_country", "holiday_state",
            "longest_day", "least_rest", "answer_lead", "relief_after", "unattended_every",
        ]  # fmt: skip

"""Clashes: where people are asked for in two places at once, and when a pour could start instead."""

from typing import Any

from rest_framework import serializers

from api.fields import MomentField, ReferenceField
from scheduling.models import Pour
from scheduling.queries.clashes import PourClash
from scheduling.queries.weekrules import BrokenRule


class ClashPour(serializers.ModelSerializer):
    """A pour that is part of a clash; one that is only asked for has no id yet."""

    id = serializers.IntegerField(allow_null=True)
    name = serializers.CharField(source="__str__")
    version = serializers.IntegerField(allow_null=True)
    starts_at = MomentField(zone_from="job.site.time_zone")

    class Meta:
        model = Pour
        fields = ["id", "name", "version", "state", "starts_at"]


class ClashCure(serializers.Serializer):
    """A start at which the pour would clash with nothing, all else staying as it is."""

    pour = ReferenceField(read_only=True)
    starts_at = MomentField(zone_from="pour.job.site.time_zone")


class CureRow(serializers.Serializer):
    """A change that was tried on the week and cures the clash, or, where `is_act`, what is to be done."""

    pour = ReferenceField(read_only=True)
    version = serializers.IntegerField(source="pour.version")
    remedy = serializers.CharField(
        help_text=(
            "“later”, “earlier”, “other_crew”, “borrow”, “early_saw”, “other_day” or “plan_afresh”; "
            "to be done: “call_order”, “release_forms”, “pass_inspection” or “ask_plant”."
        )
    )
    is_act = serializers.BooleanField(help_text="Nothing of the plan changes: somebody must do it.")
    by_at = MomentField(zone_from="pour.plant.time_zone", allow_null=True)
    starts_at = MomentField(zone_from="pour.job.site.time_zone")
    crew = ReferenceField(read_only=True, allow_null=True)
    saw = serializers.CharField()
    borrowed = serializers.IntegerField(help_text="People of that crew, where the remedy is “borrow”.")


class ClashRow(serializers.Serializer):
    """A stretch in which more is asked than there is, or another rule of the week is broken."""

    code = serializers.CharField(
        help_text="“people_short”, “two_placings”, or another rule of the week that is broken."
    )
    severity = serializers.CharField(help_text="“stop” or “caution”.")
    who = serializers.CharField(help_text="The crew, the kind of machine, the plant or the site it is about.")
    key = serializers.CharField(help_text="Asks for its cures; another as soon as one of its pours changes.")
    crew = ReferenceField(read_only=True, allow_null=True)
    kinds = serializers.ListField(child=serializers.CharField(), help_text="The work that clashes.")
    starts_at = MomentField(zone_from="zone")
    ends_at = MomentField(zone_from="zone")
    needed = serializers.FloatField(help_text="In the unit of the code: people, machines, m³/h, min or h.")
    available = serializers.FloatField()
    accepted = serializers.BooleanField(help_text="Whether somebody has said yes to it.")
    pours = ClashPour(many=True)
    cure = ClashCure(allow_null=True)


def clash_row(clash: PourClash) -> dict[str, Any]:
    """A clash as `ClashRow` reads it."""
    cure = {"pour": clash.pours[-1], "starts_at": clash.free_start_at} if clash.free_start_at else None
    zone = clash.pours[0].job.site.time_zone
    return {**vars(clash), "zone": zone, "cure": cure, "who": clash.crew.name, "severity": "stop"}


def broken_row(rule: BrokenRule) -> dict[str, Any]:
    """A broken rule as `ClashRow` reads it."""
    zone = rule.pours[0].job.site.time_zone
    return {**vars(rule), "zone": zone, "cure": None, "crew": None, "accepted": False}


def refused_clash_rows(clashes: list[PourClash]) -> list[dict[str, Any]]:
    """Clashes a change was refused for, with the pours as they are kept now the change is undone."""
    pours: list[Any] = [pour for clash in clashes for pour in clash.pours]
    kept = dict(Pour.objects.filter(pk__in={pour.pk for pour in pours}).values_list("pk", "version"))
    for pour in pours:
        # The same pour may be in several clashes, as one row or as two.
        pour.version = kept.get(pour.pk)
        pour.pk = pour.pk if pour.pk in kept else None
    return [clash_row(clash) for clash in clashes]

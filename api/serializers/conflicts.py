"""Clashes: where people are asked for in two places at once, and when a pour could start instead."""

from typing import Any

from rest_framework import serializers

from api.fields import MomentField, ReferenceField
from scheduling.models import Pour
from scheduling.queries.clashes import PourClash


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


class ClashRow(serializers.Serializer):
    """A stretch in which a crew is asked for more people than it has, or for two slabs at once."""

    code = serializers.CharField(help_text="“people_short” or “two_placings”.")
    crew = ReferenceField(read_only=True)
    kinds = serializers.ListField(child=serializers.CharField(), help_text="The work that clashes.")
    starts_at = MomentField(zone_from="zone")
    ends_at = MomentField(zone_from="zone")
    needed = serializers.IntegerField()
    available = serializers.IntegerField()
    accepted = serializers.BooleanField(help_text="Whether somebody has said yes to it.")
    pours = ClashPour(many=True)
    cure = ClashCure(allow_null=True)


def clash_row(clash: PourClash) -> dict[str, Any]:
    """A clash as `ClashRow` reads it."""
    cure = {"pour": clash.pours[-1], "starts_at": clash.free_start_at} if clash.free_start_at else None
    return {**vars(clash), "zone": clash.pours[0].job.site.time_zone, "cure": cure}


def refused_clash_rows(clashes: list[PourClash]) -> list[dict[str, Any]]:
    """Clashes a change was refused for, with the pours as they are kept now the change is undone."""
    pours: list[Any] = [pour for clash in clashes for pour in clash.pours]
    kept = dict(Pour.objects.filter(pk__in={pour.pk for pour in pours}).values_list("pk", "version"))
    for pour in pours:
        # The same pour may be in several clashes, as one row or as two.
        pour.version = kept.get(pour.pk)
        pour.pk = pour.pk if pour.pk in kept else None
    return [clash_row(clash) for clash in clashes]

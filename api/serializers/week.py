"""Better weeks: what may be asked, how far the work has come, and what is proposed."""

from rest_framework import serializers

from api.fields import DayField, MomentField, ReferenceField, TruthField, WholeField
from api.serializers.base import Closed
from scheduling.models import Site, WeekProposal


class WeekAsk(Closed):
    """Which week; with a day or a site lost to rain, only what that displaces is put right."""

    day = DayField(help_text="Any day of the week, on the office's calendar.")
    lost_on = DayField(required=False, allow_null=True, help_text="A day nothing can be placed on.")
    lost_site = ReferenceField(
        queryset=Site.objects.all(), required=False, allow_null=True, help_text="A site lost that day."
    )


class WeekAccept(Closed):
    """Which of the proposed differences to take; without `pours` all that are left."""

    pours = serializers.ListField(
        child=WholeField(min_value=1), required=False, allow_empty=False, max_length=500
    )
    accept_clashes = TruthField(default=False)


class WeekClash(serializers.Serializer):
    """A clash that is gone in the proposed week, or that it cannot cure."""

    code = serializers.CharField()
    who = serializers.CharField(help_text="A crew, a machine or a plant.")
    starts_at = MomentField()
    ends_at = MomentField()
    needed = serializers.FloatField()
    available = serializers.FloatField()
    pours = serializers.ListField(child=serializers.IntegerField())


class WeekReason(serializers.Serializer):
    """Why a pour would be moved, or what speaks against it.

    “clash_gone” with the clash; “rule_kept” with the rule it breaks where it stands, and whose that is;
    “less” or “more” of a danger, in crew-hours; “fit_crew” where its own lacks people or skills; “late” by
    so many days against what was promised; “lost”; “makes_room”.
    """

    code = serializers.CharField()
    rule = serializers.CharField(required=False)
    name = serializers.CharField(required=False)
    danger = serializers.CharField(required=False)
    hours = serializers.FloatField(required=False)
    days = serializers.IntegerField(required=False)
    clash = WeekClash(required=False)


class WeekDifference(serializers.Serializer):
    """One pour that the proposal would move."""

    pour = serializers.IntegerField()
    name = serializers.CharField()
    from_at = MomentField()
    from_crew = serializers.IntegerField()
    to_at = MomentField()
    to_crew = serializers.IntegerField()
    reasons = WeekReason(many=True)
    against = WeekReason(many=True)
    taken = serializers.BooleanField()


class WeekPlaced(serializers.Serializer):
    """Where a pour would stand, and which machines it would have."""

    pour = serializers.IntegerField()
    starts_at = MomentField()
    crew = serializers.IntegerField()
    plant = serializers.IntegerField()
    equipment = serializers.ListField(child=serializers.CharField())
    stays = serializers.CharField(
        allow_blank=True, help_text="Why it is not moved: “other_week”, “begun”, “on_hold”, “confirmed”."
    )


class WeekShortage(serializers.Serializer):
    """What keeps a pour off a day: so much needed of something, and so much there is."""

    pour = serializers.IntegerField()
    day = serializers.IntegerField(help_text="Days after the week's Monday.")
    lack = serializers.CharField()
    name = serializers.CharField()
    needed = serializers.FloatField(
        help_text="People, machines, m³ or m³/h, hours, days or crews, by the lack."
    )
    exist = serializers.FloatField()
    starts_at = MomentField(allow_null=True)
    ends_at = MomentField(allow_null=True)
    pours = serializers.ListField(child=serializers.IntegerField())


class WeekLeftOut(serializers.Serializer):
    pour = serializers.IntegerField()
    name = serializers.CharField()


class WeekResult(serializers.Serializer):
    """The proposed week. Costs are in tenths of a crew-hour."""

    cost = serializers.IntegerField()
    standing_cost = serializers.IntegerField(help_text="Of the week as it stands, its clashes not counted.")
    bound = serializers.IntegerField()
    greedy_cost = serializers.IntegerField()
    proven = serializers.BooleanField(help_text="Whether no better week exists among the starts tried.")
    greedy_only = serializers.BooleanField()
    failed = serializers.BooleanField(help_text="Whether the search broke down and the plain plan stands.")
    clocks = serializers.ListField(
        child=serializers.CharField(), help_text="The times tried each day, beside the one as it stands."
    )
    week = WeekPlaced(many=True)
    differences = WeekDifference(many=True)
    left_out = WeekLeftOut(many=True)
    shortages = WeekShortage(many=True)
    conflicts = WeekClash(many=True)


class WeekProposalRow(serializers.ModelSerializer):
    """How far a proposal has come."""

    lost_site = ReferenceField(read_only=True, allow_null=True)
    asked_by = ReferenceField(read_only=True, allow_null=True)
    asked_at = MomentField()
    settled_by = ReferenceField(read_only=True, allow_null=True)
    settled_at = MomentField(allow_null=True)

    class Meta:
        model = WeekProposal
        fields = [
            "id", "monday", "lost_on", "lost_site", "state", "asked_by", "asked_at", "stop_asked", "planned",
            "to_plan", "best", "bound", "seconds", "fault", "settled_by", "settled_at",
        ]  # fmt: skip
        read_only_fields = fields


class WeekProposalAnswer(WeekProposalRow):
    """A proposal with its week, once there is one."""

    result = WeekResult(allow_null=True)

    class Meta(WeekProposalRow.Meta):
        fields = [*WeekProposalRow.Meta.fields, "result"]
        read_only_fields = fields

"""When strips of slab are finished, cut and cured, as a plan has it."""

from rest_framework import serializers

from api.fields import MomentField, quantity
from scheduling.quantities import Dimension


class PlanPass(serializers.Serializer):
    """Once over the whole slab, in placing order."""

    kind = serializers.CharField()
    opens_at = MomentField()
    closes_at = MomentField()
    people = serializers.IntegerField()
    rate = quantity(Dimension.AREA_RATE, "rate_m2_h")


class StripPassRow(serializers.Serializer):
    """Once over one strip: when it may be made, and when the party makes it; null where it is lost."""

    kind = serializers.CharField()
    opens_at = MomentField()
    closes_at = MomentField()
    starts_at = MomentField(allow_null=True)
    ends_at = MomentField(allow_null=True)


class PlanStrip(serializers.Serializer):
    """Bays placed within about twenty minutes, from placing to curing."""

    number = serializers.IntegerField(help_text="In placing order, from 1.")
    first_bay = serializers.IntegerField()
    last_bay = serializers.IntegerField()
    area = quantity(Dimension.AREA, "area_m2")
    placed_from_at = MomentField()
    placed_at = MomentField(help_text="When it is struck and bull floated, and left alone.")
    ready_early_at = MomentField(help_text="From when to look whether it bears a float.")
    hard_at = MomentField(help_text="Final set: from then sheets and water leave no mark.")
    finished_at = MomentField(help_text="When its last pass is made, or would have to be; curing follows.")
    lost = serializers.BooleanField(help_text="Whether it is too hard before the party is done with it.")
    passes = StripPassRow(many=True)


class PlanFinishing(serializers.Serializer):
    """What the party that stays has to do, and when."""

    passes = PlanPass(many=True)
    # A plan that is kept may be from before there were these.
    strips = PlanStrip(many=True, required=False)
    starts_at = MomentField()
    first_finished_at = MomentField(help_text="When the first strip has had its last pass.")
    ends_at = MomentField()
    cure_at = MomentField()
    people = serializers.IntegerField()
    coverage = quantity(Dimension.AREA_RATE, "coverage_m2_h", help_text="All passes together.")


class PlanJoint(serializers.Serializer):
    """One straight cut, from one point to another; along and across the section."""

    x1 = quantity(Dimension.LENGTH, "x1_m")
    y1 = quantity(Dimension.LENGTH, "y1_m")
    x2 = quantity(Dimension.LENGTH, "x2_m")
    y2 = quantity(Dimension.LENGTH, "y2_m")


class PlanJoints(serializers.Serializer):
    """The cuts of one section."""

    spacing = quantity(Dimension.LENGTH, "spacing_m")
    panels_long = serializers.IntegerField()
    panels_wide = serializers.IntegerField()
    length = quantity(Dimension.LENGTH, "length_m")
    depth = quantity(Dimension.DEPTH, "depth_m")
    joints = PlanJoint(many=True)


class PlanStripCut(serializers.Serializer):
    """When the joints of one strip may be cut, and when one saw is at them."""

    number = serializers.IntegerField(help_text="The strip's.")
    opens_at = MomentField(help_text="When to try a cut, by hours after finishing.")
    strong_at = MomentField(help_text="From when the edge should hold, by strength.")
    last_call_at = MomentField()
    starts_at = MomentField()
    ends_at = MomentField()


class PlanSawing(serializers.Serializer):
    """The saw cuts: from when they no longer ravel to when the slab would crack by itself."""

    strips = PlanStripCut(many=True, required=False, help_text="As they ripen.")
    opens_at = MomentField(help_text="When to try the first cut.")
    last_call_at = MomentField(help_text="When all must be cut.")
    starts_at = MomentField(allow_null=True)
    ends_at = MomentField(allow_null=True)
    time_needed = quantity(Dimension.HOURS, "hours_needed")
    people = serializers.IntegerField()
    length = quantity(Dimension.LENGTH, "length_m")
    depth = quantity(Dimension.DEPTH, "depth_m")
    layouts = PlanJoints(many=True, help_text="One for each section.")


class PlanCuring(serializers.Serializer):
    """When curing begins and ends, and from when the whole slab bears what; the engineer's word governs."""

    compound_from_at = MomentField(help_text="Curing compound, strip by strip, from here.")
    compound_until_at = MomentField()
    cover_from_at = MomentField(help_text="Sheets or water leave no mark on the first strip from here.")
    cover_all_at = MomentField(help_text="Nor anywhere on the slab.")
    ends_at = MomentField(help_text="Keep curing until then.")
    forms_off_at = MomentField()
    walked_on_at = MomentField()
    light_things_at = MomentField()
    cars_at = MomentField()
    heavy_at = MomentField()

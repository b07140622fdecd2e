"""The trucks of a plan: how far apart, how to ask for them, what may come of it, and each load."""

from rest_framework import serializers

from api.fields import MomentField, minutes, volume


class PlanSpacing(serializers.Serializer):
    """How far apart loads can follow each other, and what sets it."""

    interval = minutes("interval_min", help_text="The longest of the others; what to ask for is in arrivals.")
    limited_by = serializers.CharField(help_text="“crew”, “plant”, “site” or “fleet”.")
    crew_interval = minutes("crew_min")
    plant_interval = minutes("plant_min")
    site_interval = minutes("site_min", allow_null=True)
    fleet_interval = minutes("fleet_min", allow_null=True)
    trucks_needed = serializers.IntegerField()


class PlanAsked(serializers.Serializer):
    """What to ask of the plant: trucks at the start, the next after a while, then one every so often."""

    first_together = serializers.IntegerField()
    next_after = minutes("next_after_min")
    interval = minutes("interval_min")


class PlanLoadRisk(serializers.Serializer):
    """One place in the line of trucks; `p90` is what is not exceeded on nine days of ten."""

    number = serializers.IntegerField()
    wait_mean = minutes("wait_mean_min")
    wait_p90 = minutes("wait_p90_min")
    age_mean = minutes("age_mean_min")
    age_p90 = minutes("age_p90_min")
    too_old_chance = serializers.FloatField(source="dead_chance")


class PlanRisk(serializers.Serializer):
    """What may come of it, over many days with late trucks and uneven unloading."""

    days = serializers.IntegerField(help_text="How many days were followed.")
    truck_wait_mean = minutes("truck_wait_mean_min", help_text="For one truck.")
    truck_wait_p90 = minutes("truck_wait_p90_min")
    crew_wait_mean = minutes("crew_wait_mean_min", help_text="All of a day's waiting.")
    crew_wait_p90 = minutes("crew_wait_p90_min")
    too_old_chance = serializers.FloatField(
        source="any_dead_chance", help_text="That one load or more gets too old."
    )
    cold_joint_chance = serializers.FloatField(help_text="That one gap or more is too long.")
    finish_mean = minutes("finish_mean_min", help_text="From the first asked arrival to the last discharge.")
    finish_p05 = minutes("finish_p05_min")
    finish_p95 = minutes("finish_p95_min")
    wait_fees_mean = serializers.FloatField(
        required=False, help_text="What the plant charges in all for trucks kept too long."
    )
    cost = serializers.FloatField(help_text="Expected money lost to waiting and risk.")
    loads = PlanLoadRisk(many=True)


class PlanArrivals(serializers.Serializer):
    """The arrivals to ask for and what they come to, beside better and plainer ones."""

    ask = PlanAsked(source="sayable")
    risk = PlanRisk()
    fragile = serializers.BooleanField(
        help_text="Whether trucks that are merely on time, 15 min either side, make a loss likely."
    )
    plain_interval = minutes("plain_interval_min", help_text="A load divided by the crew's pace.")
    saved_percent = serializers.FloatField(help_text="Of the cost of that plain interval.")
    given_up_percent = serializers.FloatField(
        source="loss_percent", help_text="Cost over that of timing every truck alone."
    )
    trucks_enough = serializers.IntegerField(
        source="fleet.enough", help_text="The fewest trucks that keep the crew fed."
    )


class PlanLoad(serializers.Serializer):
    """One truckload, from the plant to its last concrete."""

    number = serializers.IntegerField()
    truck = serializers.IntegerField()
    quantity = volume("m3")
    asked_at = MomentField(required=False, help_text="When the plant is asked to have it on site.")
    batch_at = MomentField(help_text="When water meets cement.")
    leaves_at = MomentField()
    arrives_at = MomentField()
    starts_at = MomentField(help_text="When it begins to discharge.")
    ends_at = MomentField()
    age = minutes("age_min", help_text="At the end of discharge.")
    truck_wait = minutes("truck_wait_min")
    crew_wait = minutes("crew_wait_min")


class PlanDelivery(serializers.Serializer):
    """Every load, if the plant does as it is asked."""

    loads = PlanLoad(many=True)
    truck_wait = minutes("truck_wait_min")
    crew_wait = minutes("crew_wait_min")

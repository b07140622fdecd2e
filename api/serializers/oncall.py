"""What whoever is on call must know of texts."""

from rest_framework import serializers

from api.choices import AGREEMENT_WAY
from api.fields import MomentField, ReferenceField
from api.serializers.base import Closed
from api.serializers.messages import MessageAnswer
from scheduling.models import Reminder, Reply, User
from scheduling.queries.oncall import Coming


class ReplyAnswer(serializers.ModelSerializer):
    """A text that came in, and what it was taken to say."""

    person = ReferenceField(read_only=True, allow_null=True)
    phone = serializers.CharField()
    meaning = serializers.CharField(
        help_text="yes, no, late, done, ravels, stop, start, help, or unclear where a person must read it."
    )
    late_min = serializers.IntegerField(allow_null=True)
    received_at = MomentField()
    message = ReferenceField(read_only=True, allow_null=True)
    seen_by = ReferenceField(read_only=True, allow_null=True)
    seen_at = MomentField(allow_null=True)

    class Meta:
        model = Reply
        fields = [
            "id", "person", "phone", "body", "received_at", "meaning", "late_min", "message", "answered_with",
            "needs_a_look", "seen_by", "seen_at",
        ]  # fmt: skip


class ReminderComing(serializers.ModelSerializer):
    pour = ReferenceField(read_only=True)
    kind = serializers.CharField()

    class Meta:
        model = Reminder
        fields = ["id", "pour", "kind"]


class ComingAnswer(serializers.Serializer[Coming]):
    """A text that waits for its time, or a reminder that becomes one."""

    due_at = MomentField()
    message = MessageAnswer(allow_null=True)
    reminder = ReminderComing(allow_null=True)


class HealthAnswer(serializers.Serializer):
    is_well = serializers.BooleanField()
    clock_at = MomentField(allow_null=True, help_text="When the clock last ticked.")
    clock_stopped = serializers.BooleanField()
    oldest_due_at = MomentField(
        allow_null=True,
        help_text="Of what should have gone by now and still could; null for nothing.",
    )
    stuck = serializers.BooleanField()


class OnCallAnswer(serializers.Serializer):
    """Whether texts go, what is due and not sent, what comes next, and what needs a person."""

    health = HealthAnswer()
    waiting = MessageAnswer(many=True)
    coming = ComingAnswer(many=True)
    texts = MessageAnswer(many=True, help_text="Failed, withheld or unknown within the last two days.")
    replies = ReplyAnswer(many=True, help_text="To be read.")


class Agreement(Closed):
    way = serializers.ChoiceField(choices=AGREEMENT_WAY)


class TextsRecord(serializers.ModelSerializer):
    """Whether somebody gets texts, and if not, why."""

    texts_agreed_at = MomentField(allow_null=True)
    texts_stopped_at = MomentField(allow_null=True)
    phone_is_bad = serializers.BooleanField()

    class Meta:
        model = User
        fields = ["id", "texts_agreed_at", "texts_stopped_at", "phone_is_bad"]

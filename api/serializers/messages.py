"""Texts to people, as the outbox keeps them."""

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from api.fields import MomentField, ReferenceField
from api.serializers.drafts import TextLength
from scheduling.models import Message, MessagePour
from scheduling.services.drafts import length_of


class MessageAbout(serializers.ModelSerializer):
    """A pour a text speaks of, in the version the text was written from."""

    pour = serializers.IntegerField(source="pour_id")

    class Meta:
        model = MessagePour
        fields = ["pour", "pour_version"]


class MessageAnswer(serializers.ModelSerializer):
    """A text to one person; its times are on the office's clock."""

    recipient = ReferenceField(read_only=True)
    phone = serializers.CharField()
    answer = serializers.CharField(read_only=True, help_text="yes, no or done; empty without an answer.")
    made_at = MomentField()
    due_at = MomentField()
    useful_until = MomentField()
    sent_at = MomentField(allow_null=True)
    delivered_at = MomentField(allow_null=True)
    answered_at = MomentField(allow_null=True)
    decided_at = MomentField(allow_null=True)
    decided_by = ReferenceField(read_only=True, allow_null=True)
    about = MessageAbout(many=True)
    length = serializers.SerializerMethodField()

    class Meta:
        model = Message
        fields = [
            "id", "kind", "state", "recipient", "phone", "language", "body", "made_at", "due_at",
            "useful_until", "sent_at", "delivered_at", "tries", "resends", "reason", "answer", "answered_at",
            "decided_by", "decided_at", "about", "length",
        ]  # fmt: skip

    @extend_schema_field(TextLength)
    def get_length(self, text: Message) -> dict[str, object]:
        return TextLength(length_of(text.body)).data

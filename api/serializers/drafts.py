"""How long texts are, and morning texts before they are sent."""

from rest_framework import serializers

from api.fields import ReferenceField
from api.serializers.base import Closed
from scheduling.models import Language


class TextLength(serializers.Serializer):
    """What sending a text takes: septets, or UCS-2 units where `wide` signs are outside the GSM alphabet."""

    segments = serializers.IntegerField()
    units = serializers.IntegerField()
    room = serializers.IntegerField(help_text="Units that as many segments hold.")
    wide = serializers.ListField(
        child=serializers.CharField(), help_text="The signs that make it dear; none in the plain alphabet."
    )


class DraftAnswer(serializers.Serializer):
    """A morning text as it would be written now."""

    reader = ReferenceField(read_only=True)
    language = serializers.ChoiceField(choices=Language.choices, source="reader.language")
    body = serializers.CharField()
    length = TextLength()


class LanguageChoice(Closed):
    language = serializers.ChoiceField(choices=Language.choices)

"""Pours out of a sheet: what is sent, how it is read, what is wrong with it."""

from zoneinfo import ZoneInfo

from rest_framework import serializers

from api.choices import CELLS_PARTED_BY, DATE_ORDER, FINISH, METHOD
from api.fields import MomentField, QuantityField, ReferenceField, TextField, TruthField, WholeField
from api.serializers.base import Closed, rows
from api.serializers.pours import PourRow
from scheduling.quantities import Dimension
from scheduling.services.sheetfile import MOST_BYTES
from scheduling.services.sheetpours import ReadPour


class SheetText(Closed):
    """A file of separated values as text, one line a slab; the columns are called as an export calls them."""

    text = TextField(max_length=MOST_BYTES, trim_whitespace=False)
    cells_parted_by = serializers.ChoiceField(
        choices=CELLS_PARTED_BY, required=False, help_text="Without it, as the names of the columns tell."
    )
    dates_have = serializers.ChoiceField(
        choices=DATE_ORDER, required=False, help_text="What 03/04/2026 is, where no date of the file tells."
    )


class SheetImport(SheetText):
    accept_clashes = TruthField(default=False, help_text="Book them although they clash.")


class SheetProblem(serializers.Serializer):
    line = WholeField(help_text="As an editor counts them; 0 for the whole file.")
    column = TextField(allow_blank=True)
    message = TextField()


def size(dimension: Dimension, source: str) -> QuantityField:
    return QuantityField(dimension, source=source, required=False)


class ReadSection(serializers.Serializer):
    """A slab as its line tells it; only the sizes it names."""

    label = TextField()  # type: ignore[assignment]
    length = size(Dimension.LENGTH, "length_m")
    width = size(Dimension.LENGTH, "width_m")
    area = size(Dimension.AREA, "area_m2")
    depth = size(Dimension.DEPTH, "depth_m")
    fall = size(Dimension.DEPTH, "fall_m")


class ReadPourRow(serializers.Serializer):
    """A pour as it would be booked."""

    lines = serializers.ListField(child=WholeField())
    booked_already = TruthField(help_text="It stays as it is, whatever the lines say.", source="stands")
    job = ReferenceField(read_only=True)
    title = TextField(source="fields.title")
    starts_at = MomentField(source="fields.starts_at", zone_from="job.site.time_zone")
    starts_in_words = serializers.SerializerMethodField(help_text="So that nobody mistakes day and month.")
    crew = ReferenceField(source="fields.crew", read_only=True, allow_null=True)
    crew_size = WholeField(source="fields.people")
    plant = ReferenceField(source="fields.plant", read_only=True)
    mix = ReferenceField(source="fields.mix", read_only=True)
    method = serializers.ChoiceField(source="fields.method", choices=METHOD)
    finish = serializers.ChoiceField(source="fields.finish", choices=FINISH)
    sections = rows(ReadSection)

    def get_starts_in_words(self, pour: ReadPour) -> str:
        wall = pour.fields["starts_at"].astimezone(ZoneInfo(pour.job.site.time_zone))
        return f"{wall:%A}, {wall.day} {wall:%B %Y}, {wall:%H:%M}"


class SheetAnswer(serializers.Serializer):
    """How a file is read; it can be booked where there are no problems and no question is open."""

    asks_order = TruthField(help_text="Dates read two ways and none tells which: say “dates_have”.")
    pours = rows(ReadPourRow)
    problems = rows(SheetProblem)
    unknown_columns = serializers.ListField(child=TextField(), source="unknown")
    left_out = rows(SheetProblem, help_text="What an export said there is more of than a sheet holds.")


class SheetBooked(serializers.Serializer):
    pours = rows(PourRow, help_text="What was booked; without what was booked already.")

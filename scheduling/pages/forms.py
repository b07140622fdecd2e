"""The booking page's main form, and the small ones that act on a pour."""

from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta
from itertools import groupby
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Count, Q
from django.utils import timezone

from scheduling.models import Company, Crew, Job, Mix, Pour
from scheduling.models.company import validate_time_zone
from scheduling.models.pours import PLACING_LIMITS
from scheduling.pages.fields import (
    CountField,
    NumberField,
    PickField,
    PlainForm,
    QuantityField,
    read,
    set_units,
)
from scheduling.pages.placing import PlacingForm
from scheduling.pages.wording import Words
from scheduling.quantities import Dimension

NEW_JOB = "new"
FARTHEST = timedelta(days=3 * 366)  # a day farther off is a slip of the pen
DEFAULT_PEOPLE = 5


def day_field(**kwargs: Any) -> forms.DateField:
    widget = forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})
    words = {
        "required": "Choose the day.",
        "invalid": "That is not a day. Choose one, or type it as 2026-06-11.",
    }
    return forms.DateField(label="Day", widget=widget, error_messages=words, **kwargs)


def time_field(**kwargs: Any) -> forms.TimeField:
    widget = forms.TimeInput(format="%H:%M", attrs={"type": "time"})
    words = {"required": "Give the time.", "invalid": "That is not a time. Type it as 07:00."}
    return forms.TimeField(label="First truck at", widget=widget, error_messages=words, **kwargs)


def sensible_day(day: date) -> date:
    """A day within reach of the calendar; whether it is past is for the service to say."""
    today = timezone.now().date()
    if not today - FARTHEST <= day <= today + FARTHEST:
        raise ValidationError("That day is years away. Look at the year.", code="far_away")
    return day


def column_choices(column: str) -> list[tuple[str, str]]:
    """The choices of a pour's column, as the models word them."""
    field = Pour._meta.get_field(column)  # noqa: SLF001 – Django's public way to a model's columns
    return [(str(value), str(words)) for value, words in getattr(field, "flatchoices", ())]


class BookingForm(PlacingForm):
    """Everything about a pour but its slab. Fields that fill a pour's column have its name."""

    job = PickField(label="Job", missing="Choose the job, or a new one.")
    new_job_name = forms.CharField(required=False, max_length=120, label="Name of the job")
    new_address = forms.CharField(required=False, max_length=200, label="Address of the site")
    new_customer = forms.CharField(required=False, max_length=120, label="Customer")
    new_time_zone = forms.CharField(
        required=False, max_length=64, label="Time zone of the site", validators=[validate_time_zone]
    )
    new_latitude = NumberField(least=-90, most=90, label="Latitude", help_text="For the forecast, as 38.88.")
    new_longitude = NumberField(least=-180, most=180, label="Longitude", help_text="West is minus: -94.82.")
    new_directions = forms.CharField(required=False, max_length=500, label="Gate, code, where to park")
    new_trucks_must_back = forms.BooleanField(required=False, label="Trucks must back in")
    new_one_truck_at_a_time = forms.BooleanField(required=False, label="Room for one truck at a time")
    new_power_lines = forms.BooleanField(required=False, label="Power lines overhead")

    title = forms.CharField(
        required=False, max_length=120, label="Which pour", help_text="If the job has several: “garage”."
    )
    day = day_field()
    time = time_field(initial="07:00")
    crew = PickField(label="Crew", required=False)
    people = CountField(most=60, required=False, label="People placing", help_text="Empty: the whole crew.")
    method = forms.ChoiceField(choices=column_choices("method"), initial="chute", label="Placed by")
    reach_m = QuantityField(
        Dimension.LENGTH,
        required=False,
        may_be_nothing=True,
        limits=PLACING_LIMITS["reach_m"],
        label="Farthest reach",
        help_text="From where a truck can stand.",
    )
    reinforcement = forms.ChoiceField(choices=column_choices("reinforcement"), label="Steel")
    spotter = forms.CharField(
        required=False,
        max_length=60,
        label="Spotter",
        help_text="Where trucks must back in: one of the crew, not at the chute.",
    )
    decorative = forms.BooleanField(required=False, label="Colored, stamped or exposed")
    indoors = forms.BooleanField(required=False, label="Under a roof")
    base_c = QuantityField(
        Dimension.TEMPERATURE,
        required=False,
        limits=(-40, 60),
        label="Base read at",
        help_text="A thermometer in the ground. Nothing is placed on frozen ground.",
    )
    base_frozen = forms.BooleanField(required=False, label="Frost in the base")
    blankets = forms.BooleanField(required=False, label="Blankets once it is finished")

    mix = PickField(label="Plant and mix", missing="Choose the mix.")
    allowance_kind = forms.ChoiceField(
        choices=[
            ("percent", "percent"),
            ("depth", "more depth"),
            ("spread", "from the measured depths"),
        ],
        label="Counted as",
        help_text="Percent sure: from the measured depths.",
    )
    allowance_value = forms.CharField(required=False, max_length=30, label="Allowance")
    hold_last_load = forms.BooleanField(
        required=False, initial=True, label="Hold the last load until we have measured"
    )
    concrete_c = QuantityField(
        Dimension.TEMPERATURE,
        required=False,
        limits=(0, 45),
        label="Concrete delivered at",
        help_text="Empty: by its ingredients, else from the air.",
    )
    water_c = QuantityField(
        Dimension.TEMPERATURE,
        required=False,
        limits=(0, 85),
        label="Mixing water at",
        help_text="With the stone’s, and the mix’s weights kept, it tells how warm the concrete comes.",
    )
    aggregate_c = QuantityField(
        Dimension.TEMPERATURE, required=False, limits=(-20, 80), label="Sand and stone at"
    )
    ice_kg_m3 = QuantityField(
        Dimension.DENSITY,
        required=False,
        limits=(0, 150),
        label="Ice in the mix",
        help_text="Weight in a yard or m³: 60 lb/yd3.",
        may_be_nothing=True,
    )
    trucks = CountField(most=200, required=False, label="Trucks there are")
    haul_min = NumberField(least=0, most=600, label="Haul, minutes")
    age_limit_min = CountField(most=600, required=False, label="Age limit, minutes")
    call_lead_min = CountField(least=0, most=600, required=False, label="Crew ahead of truck, minutes")

    finish = forms.ChoiceField(choices=column_choices("finish"), label="Finish")
    finishers = CountField(most=60, initial=2, label="Finishers who stay")
    power_trowels = CountField(least=0, most=60, initial=1, label="Power trowels")
    test_cylinders = CountField(least=0, most=60, initial=0, label="Test cylinders")
    saw = forms.ChoiceField(choices=column_choices("saw"), label="Saw")
    joint_spacing_m = QuantityField(
        Dimension.LENGTH,
        required=False,
        limits=(0.3, 10),
        label="Joints apart",
        help_text="Empty: from the thickness.",
    )
    promised_by = forms.DateField(
        required=False,
        label="Promised by",
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
        help_text="The last day the customer was promised.",
    )
    notes = forms.CharField(
        required=False, max_length=2000, label="Notes", widget=forms.Textarea(attrs={"rows": 3})
    )

    def __init__(self, *args: Any, company: Company, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.words = Words.of(company)
        set_units(self, company.units)
        self.fields["allowance_value"].initial = f"{company.allowance_percent:g}"
        self.fields["new_time_zone"].initial = company.time_zone
        self._offer_rows()

    def _offer_rows(self) -> None:
        jobs = {str(job.pk): job for job in Job.objects.select_related("site")}
        mixes = {str(mix.pk): mix for mix in offered_mixes()}
        there = Count("workers", filter=Q(workers__active=True))
        crews = {str(crew.pk): crew for crew in Crew.objects.filter(active=True).annotate(people_there=there)}
        blank = [("", "Choose…")]
        job_choices = [(pk, f"{job.name} – {job.site.address}") for pk, job in jobs.items()]
        self._pick("job").offer(
            [*blank, *job_choices, (NEW_JOB, "A new job…")], lambda pk: jobs.get(pk, NEW_JOB)
        )
        self._pick("mix").offer([*blank, *mix_choices(mixes.values(), self.words)], mixes.__getitem__)
        crew_choices = [(pk, crew.name) for pk, crew in crews.items()]
        self._pick("crew").offer([("", "No crew yet"), *crew_choices], crews.__getitem__)
        if not jobs:
            self.fields["job"].initial = NEW_JOB

    def stand_in(self) -> None:
        """Fill what cannot be read yet with what the form began with, so that a sketch can be made."""
        for name, field in self.fields.items():
            if name not in self.cleaned_data:
                initial = field.initial
                if initial is None and isinstance(field, forms.ChoiceField):
                    initial = next(iter(dict(field.choices)), None)  # type: ignore[arg-type]
                try:
                    self.cleaned_data[name] = field.clean(initial)
                except ValidationError:
                    self.cleaned_data[name] = None

    def _pick(self, name: str) -> PickField:
        field = self.fields[name]
        assert isinstance(field, PickField)
        return field

    def _holds(self, *names: str) -> bool:
        """Whether one of the fields was filled in, or is wrong: then what is tucked away is opened."""
        return any(self[name].value() or self[name].errors for name in names)

    @property
    def has_site_details(self) -> bool:
        ticks = ("new_trucks_must_back", "new_one_truck_at_a_time", "new_power_lines")
        wrong = self.is_bound and "new_time_zone" in self.errors
        return wrong or self._holds("new_latitude", "new_longitude", "new_directions", *ticks)

    @property
    def has_truck_details(self) -> bool:
        return self._holds(
            "concrete_c", "water_c", "aggregate_c", "ice_kg_m3", "trucks", "haul_min", "age_limit_min"
        )

    @property
    def has_work_details(self) -> bool:
        return self._holds(
            "joint_spacing_m", "call_lead_min", "indoors", "base_c", "base_frozen", "blankets", "notes",
            "promised_by",
            "spotter", "decorative",
        )  # fmt: skip

    def clean_day(self) -> date:
        return sensible_day(self.cleaned_data["day"])

    def clean_promised_by(self) -> date | None:
        day = self.cleaned_data["promised_by"]
        return day and sensible_day(day)

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        if said.get("job") == NEW_JOB:
            for name, words in (
                ("new_job_name", "Name the job."),
                ("new_address", "Give the site’s address."),
            ):
                if not said.get(name) and name not in self.errors:
                    self.add_error(name, words)
        if "allowance_kind" in said:
            self._read_allowance(said)
        return said

    def _read_allowance(self, said: dict[str, Any]) -> None:
        """Percent, metres of depth, or how sure one wants to be as a fraction, as the model keeps them."""
        kind, text = said["allowance_kind"], said.get("allowance_value", "")
        dimension = Dimension.DEPTH if kind == "depth" else Dimension.PERCENT
        try:
            value = read(text, dimension, self.words.units)
        except ValidationError as wrong:
            self.add_error("allowance_value", wrong)
            return
        if kind == "percent" and value > 50:
            self.add_error("allowance_value", "That is no allowance any more. Give at most 50 %.")
        if kind == "spread" and not 50 <= value < 100:
            self.add_error("allowance_value", "Say how sure to be, from 50 % up to 99 %.")
        said["allowance_value"] = value / 100 if kind == "spread" else value

    def pour_fields(self, starts_at: datetime) -> dict[str, Any]:
        """What the booking service is told, but for the job and the slab."""
        said = self.cleaned_data
        columns = (
            "title", "crew", "method", "reach_m", "reinforcement", "indoors", "base_c", "base_frozen",
            "blankets", "spotter", "decorative",
            "mix", "allowance_kind", "allowance_value", "hold_last_load", "concrete_c", "water_c",
            "aggregate_c", "trucks", "haul_min", "age_limit_min", "call_lead_min", "finish", "finishers",
            "power_trowels", "test_cylinders", "saw", "joint_spacing_m", "notes",
            "promised_by",
        )  # fmt: skip
        return {
            **{name: said[name] for name in columns},
            **self.placing_columns(),
            "ice_kg_m3": said["ice_kg_m3"] or 0.0,
            "plant": said["mix"].plant,
            "people": said["people"] or crew_size(said["crew"]),
            "starts_at": starts_at,
        }


def crew_size(crew: Crew | None) -> int:
    """How many a crew brings, as far as its people are listed."""
    if crew is None:
        return DEFAULT_PEOPLE
    there = getattr(crew, "people_there", None)
    return (crew.workers.filter(active=True).count() if there is None else there) or DEFAULT_PEOPLE


def offered_mixes() -> Iterable[Mix]:
    mixes = Mix.objects.filter(active=True, plant__active=True).select_related("plant")
    whole = mixes.prefetch_related("plant__hours", "plant__closures", "plant__openings")
    return whole.order_by("plant__name", "code", "pk")


def mix_choices(mixes: Iterable[Mix], words: Words) -> list[tuple[str, list[tuple[str, str]]]]:
    """Mixes under the name of their plant, each with its strength and stone."""
    return [
        (name, [(str(mix.pk), mix_label(mix, words)) for mix in group])
        for name, group in groupby(mixes, key=lambda mix: mix.plant.name)
    ]


def mix_label(mix: Mix, words: Words) -> str:
    strength = words.amount(mix.strength_mpa, Dimension.STRENGTH)
    stone = words.amount(mix.aggregate_mm, Dimension.AGGREGATE)
    extras = [admixture.replace("_", " ") for admixture in mix.admixtures]
    return ", ".join([f"{mix.code}: {strength}", f"{stone} stone", *extras])


# --- acting on a pour -------------------------------------------------------------------------


class VersionForm(PlainForm):
    """The version of the pour its reader saw, so that a change of somebody else's is not run over."""

    version = forms.IntegerField(min_value=1, max_value=2**31 - 1, widget=forms.HiddenInput)


class MoveForm(VersionForm):
    day = day_field()
    time = time_field()

    def clean_day(self) -> date:
        return sensible_day(self.cleaned_data["day"])


class ReasonForm(VersionForm):
    reason = forms.CharField(
        max_length=200, label="Why", error_messages={"required": "Say why, in a few words."}
    )


class SpotterForm(VersionForm):
    """Who guides trucks in: one of the crew where its people are known, else a name as typed."""

    spotter = forms.CharField(
        max_length=60, label="Spotter", error_messages={"required": "Name one of the crew."}
    )

    def offer(self, names: Sequence[str]) -> None:
        if names:
            choices = [("", "Choose…"), *((name, name) for name in names)]
            self.fields["spotter"].widget = forms.Select(choices=choices)


class RevisionForm(PlainForm):
    """The revision of the order that was read."""

    revision = forms.IntegerField(min_value=1, max_value=2**31 - 1, widget=forms.HiddenInput)


class CalledForm(RevisionForm):
    taken_by = forms.CharField(
        max_length=80, label="Who took it", error_messages={"required": "Say who at the plant took it."}
    )


class ConfirmedForm(RevisionForm):
    ticket = forms.CharField(required=False, max_length=40, label="Their order number")

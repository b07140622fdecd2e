"""What a press on the phone sends, read into what the service takes."""

from datetime import timedelta
from typing import Any

from django import forms

from scheduling.errors import Refusal
from scheduling.models import Company, NoteKind, Pour, Units
from scheduling.pages.fields import PlainForm, QuantityField, set_units
from scheduling.quantities import Dimension
from scheduling.services.phone import LONGEST_QUEUED, Press

AS_ORDERED = [("ordered", "as ordered"), ("other", "other")]
TICKET_LINES = ("mix", "address", "yards")


class PressForm(PlainForm):
    """One press: every button of the page sends some of these."""

    key = forms.CharField(max_length=80)
    kind = forms.ChoiceField(choices=NoteKind.choices)
    load = forms.IntegerField(required=False, min_value=1, max_value=400)
    ago = forms.IntegerField(
        required=False, min_value=0, max_value=10 * int(LONGEST_QUEUED.total_seconds())
    )  # in seconds
    at = forms.TimeField(required=False)
    batched = forms.TimeField(required=False)
    people = forms.IntegerField(required=False, min_value=0, max_value=200)
    strip = forms.IntegerField(required=False, min_value=1, max_value=400)
    amount = QuantityField(Dimension.VOLUME, required=False, may_be_nothing=True)
    confirmed = forms.BooleanField(required=False)
    words = forms.CharField(required=False, max_length=300)
    slump = QuantityField(Dimension.SLUMP, required=False, may_be_nothing=True)
    temperature = QuantityField(Dimension.TEMPERATURE, required=False)
    mix_as = forms.ChoiceField(choices=AS_ORDERED, required=False)
    mix = forms.CharField(required=False, max_length=60)
    address_as = forms.ChoiceField(choices=AS_ORDERED, required=False)
    address = forms.CharField(required=False, max_length=200)
    yards_as = forms.ChoiceField(choices=AS_ORDERED, required=False)
    yards = QuantityField(Dimension.VOLUME, required=False)
    photo = forms.FileField(required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        company = Company.objects.first()
        set_units(self, company.units if company else Units.US)


def read_press(form: PressForm, pour: Pour, planned_m3: dict[int, float]) -> Press:
    """The press as the service takes it.

    Raises
    ------
    Refusal
        If something typed is none of what it should be, or a line of the ticket is left unsaid.
    """
    if not form.is_valid():
        field = next(iter(form.errors))
        raise Refusal("That was not understood.", code="unclear", field=str(field))
    said = form.cleaned_data
    kind, photo = NoteKind(said["kind"]), said["photo"]
    ticket = _ticket(said, pour, planned_m3) if kind == NoteKind.TICKET else {}
    return Press(
        kind=kind,
        key=said["key"],
        ago=timedelta(seconds=said["ago"] or 0),
        load=said["load"],
        at=said["at"],
        batched=said["batched"],
        people=said["people"],
        strip=said["strip"],
        m3=said["amount"],
        confirmed=said["confirmed"],
        words=said["words"],
        slump_mm=said["slump"],
        concrete_c=said["temperature"],
        photo=photo.file if photo else None,
        photo_size=photo.size if photo else 0,
        **ticket,
    )


def _ticket(said: dict[str, Any], pour: Pour, planned_m3: dict[int, float]) -> dict[str, Any]:
    """Every line of the ticket is said, as ordered or as it stands there; left out is not read."""
    ordered = {
        "mix": pour.mix.code,
        "address": pour.job.site.address,
        "yards": planned_m3.get(said["load"] or 0),
    }
    read = {line: ordered[line] if said[f"{line}_as"] == "ordered" else said[line] for line in TICKET_LINES}
    unsaid = [line for line in TICKET_LINES if not said[f"{line}_as"] or read[line] in (None, "")]
    if unsaid or said["batched"] is None:
        field = unsaid[0] if unsaid else "batched"
        raise Refusal("Say for each line what the ticket says.", code="ticket_needed", field=field)
    return {"ticket_mix": read["mix"], "ticket_address": read["address"], "ticket_m3": read["yards"]}

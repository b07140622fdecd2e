"""What was typed on the booking page: one form for the pour, one for each section of its slab."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from urllib.parse import parse_qsl
from uuid import uuid4
from zoneinfo import ZoneInfo

from django.http import QueryDict

from scheduling.errors import Refusal
from scheduling.localtime import moment_of
from scheduling.models import Company, Job, Site, Units
from scheduling.pages.clashes import ClashWords
from scheduling.pages.forms import NEW_JOB, BookingForm
from scheduling.pages.plans import PlanSheet
from scheduling.pages.questions import Question, questions_of
from scheduling.pages.sketch import Sketch
from scheduling.pages.slabs import MOST_SECTIONS, SectionForm

# Inputs at fault as the services and the engine name them, where the form has another name.
FORM_NAMES = {
    "starts_at": "time",
    "percent": "allowance_value",
    "confidence": "allowance_value",
    "depths_m": "spot_depths_m",
    "side_a_m": "length_m",
    "height_m": "width_m",
}
LONGEST_KEY = 36


@dataclass
class Entry:
    """The forms, and what the page says of them."""

    main: BookingForm
    sections: list[SectionForm]
    key: str = ""  # of this one booking, however often it is sent
    settled: list[str] = field(default_factory=list)
    shown: list[str] = field(default_factory=list)
    plan: PlanSheet | None = None
    sketch: Sketch | None = None
    clashes: Sequence[ClashWords] = ()
    problems: list[str] = field(default_factory=list)
    asks: bool = False  # whether booking waits for an answer
    is_refused: bool = False  # for its clashes

    @classmethod
    def fresh(cls, company: Company, initial: dict[str, Any], sections: int = 1) -> "Entry":
        forms = [_section(company, n) for n in range(min(max(sections, 1), MOST_SECTIONS))]
        return cls(BookingForm(company=company, initial=initial), forms, key=str(uuid4()))

    @classmethod
    def typed(cls, data: QueryDict, company: Company) -> "Entry":
        forms = [_section(company, n, data) for n in range(count_of(data))]
        # Of several sections one that was left blank is no section; the first always is one.
        kept = [form for n, form in enumerate(forms) if n == 0 or not form.is_blank]
        return cls(BookingForm(data, company=company), kept, **_carried(data))

    @classmethod
    def unread(cls, data: QueryDict, company: Company, **changes: Any) -> "Entry":
        """What was typed, shown again without a word about it, as after asking for one more section."""
        main = BookingForm(company=company)
        count = changes.pop("sections", count_of(data))
        sections = [_section(company, n) for n in range(count)]
        for form in (main, *sections[: count_of(data)]):
            form.initial = {name: _as_typed(form, name, data) for name in form.fields}
        main.initial.update(changes)
        return cls(main, sections, **_carried(data))

    @property
    def has_many(self) -> bool:
        return len(self.sections) > 1

    @property
    def is_wrong(self) -> bool:
        """Whether some field is marked."""
        return any(form.is_bound and form.errors for form in (self.main, *self.sections))

    @property
    def bare_units(self) -> str:
        metric = self.main.words.units == Units.METRIC
        return "metres, of thickness in millimetres" if metric else "feet, of thickness in inches"

    def is_valid(self) -> bool:
        # Every form is asked, so that all that is wrong is marked at once.
        checked = [form.is_valid() for form in (self.main, *self.sections)]
        return all(checked)

    def questions(self) -> list[Question]:
        return questions_of(self.main, self.sections, self.main.words, self.settled)

    def unread_fields(self) -> list[tuple[str, str]]:
        """Fields that hold what nobody can read, with why; what is still empty is not wrong."""
        return [
            (form.add_prefix(name), str(errors[0]))
            for form in (self.main, *self.sections)
            for name, errors in form.errors.items()
            if name in form.fields and str(form[name].value() or "").strip()
        ]

    def job(self) -> Job:
        """The job chosen, or a new one at a new site, neither of them kept yet."""
        said = self.main.cleaned_data
        if said["job"] not in (NEW_JOB, None):
            return said["job"]
        site = Site(
            name=said["new_job_name"] or "",
            address=said["new_address"] or "",
            time_zone=said["new_time_zone"] or self.main.words.office.key,
            latitude=said["new_latitude"],
            longitude=said["new_longitude"],
            directions=said["new_directions"],
            trucks_must_back=said["new_trucks_must_back"],
            one_truck_at_a_time=said["new_one_truck_at_a_time"],
            power_lines=said["new_power_lines"],
        )
        return Job(name=said["new_job_name"] or "", customer_name=said["new_customer"], site=site)

    def fields(self, job: Job) -> dict[str, Any]:
        """What the booking service is told, but for the job and the slab."""
        said = self.main.cleaned_data
        wall = datetime.combine(said["day"], said["time"])
        return self.main.pour_fields(moment_of(wall, ZoneInfo(job.site.time_zone), field="time"))

    def columns(self) -> list[dict[str, Any]]:
        return [form.columns() for form in self.sections]

    def blame(self, refusal: Refusal) -> None:
        """Put what was refused beside the field at fault, or above everything where no field is."""
        name = FORM_NAMES.get(refusal.field, refusal.field)
        form = self.main if name in self.main.fields else self.sections[0]
        if name not in form.fields:
            self.problems.append(refusal.message)
            return
        # The engine speaks of its inputs by their own names.
        message = refusal.message.replace(refusal.field, str(form.fields[name].label))
        if form is self.main or len(self.sections) == 1:
            form.add_error(name, message)
        else:
            self.problems.append(message)


def filled(data: QueryDict, fill: str) -> QueryDict:
    """What was typed, with what a button fills in; an answer that changes nothing is remembered."""
    data = data.copy()
    for name, value in parse_qsl(fill):
        if name == "settled":
            data.appendlist(name, value)
        else:
            data[name] = value
    return data


def _carried(data: QueryDict) -> dict[str, Any]:
    """What the page carries along unseen."""
    return {
        "key": data.get("key", "")[:LONGEST_KEY],
        "settled": data.getlist("settled"),
        "shown": data.getlist("shown"),
    }


def _section(company: Company, n: int, data: QueryDict | None = None) -> SectionForm:
    return SectionForm(data, prefix=f"s{n}", units=company.units)


def count_of(data: QueryDict) -> int:
    """How many sections the page had; what is not a number counts as one."""
    said = data.get("sections", "")
    return min(max(int(said), 1), MOST_SECTIONS) if said.isascii() and said.isdigit() and len(said) < 4 else 1


def _as_typed(form: Any, name: str, data: QueryDict) -> Any:
    value = form.fields[name].widget.value_from_datadict(data, {}, form.add_prefix(name))
    return "" if value is None else value

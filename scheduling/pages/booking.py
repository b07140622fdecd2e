"""Book a pour: look at the plan first, then book it, and settle clashes knowingly."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils import timezone

from scheduling.errors import Clashes, Refusal
from scheduling.localtime import moment_of
from scheduling.models import Company, Job, Pour, Site, Units, User
from scheduling.pages.access import needs, person
from scheduling.pages.clashes import ClashWords, clash_words
from scheduling.pages.forms import NEW_JOB, BookingForm
from scheduling.pages.plans import PlanSheet, plan_sheet
from scheduling.pages.slabs import MOST_SECTIONS, SectionForm
from scheduling.queries.clashes import PourClash, clashes_of_draft
from scheduling.roles import Right
from scheduling.services import booking, ordering, planning
from scheduling.services.jobs import open_job

# Inputs at fault as the services and the engine name them, where the form has another name.
FORM_NAMES = {
    "starts_at": "time",
    "percent": "allowance_value",
    "confidence": "allowance_value",
    "depths_m": "spot_depths_m",
    "side_a_m": "length_m",
    "height_m": "width_m",
}


@dataclass
class Entry:
    """What was typed: the pour's own form and one for each section of slab."""

    main: BookingForm
    sections: list[SectionForm]
    plan: PlanSheet | None = None
    clashes: Sequence[ClashWords] = ()
    problems: list[str] = field(default_factory=list)

    @classmethod
    def typed(cls, data: QueryDict, company: Company) -> "Entry":
        forms = [_section(company, n, data) for n in range(_count(data))]
        # Of several sections one that was left blank is no section; the first always is one.
        kept = [form for n, form in enumerate(forms) if n == 0 or not form.is_blank]
        return cls(BookingForm(data, company=company), kept)

    @classmethod
    def unread(cls, data: QueryDict, company: Company, **changes: Any) -> "Entry":
        """What was typed, shown again without a word about it, as after asking for one more section."""
        main = BookingForm(company=company)
        count = changes.pop("sections", _count(data))
        sections = [_section(company, n) for n in range(count)]
        for form in (main, *sections[: _count(data)]):
            form.initial = {name: _as_typed(form, name, data) for name in form.fields}
        main.initial.update(changes)
        return cls(main, sections)

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


def _section(company: Company, n: int, data: QueryDict | None = None) -> SectionForm:
    return SectionForm(data, prefix=f"s{n}", units=company.units)


def _count(data: QueryDict) -> int:
    """How many sections the page had; what is not a number counts as one."""
    said = data.get("sections", "")
    return min(max(int(said), 1), MOST_SECTIONS) if said.isascii() and said.isdigit() and len(said) < 4 else 1


def _as_typed(form: Any, name: str, data: QueryDict) -> Any:
    value = form.fields[name].widget.value_from_datadict(data, {}, form.add_prefix(name))
    return "" if value is None else value


@needs(Right.BOOK)
def book(request: HttpRequest) -> HttpResponse:
    """The booking page, and what its buttons ask for."""
    company = Company.objects.first()
    if company is None:
        return render(request, "pages/no_company.html", {"here": "book"})
    if request.method != "POST":
        return _page(
            request, Entry(BookingForm(company=company, initial=request.GET.dict()), [_section(company, 0)])
        )
    data = request.POST
    if "add_section" in data:
        return _page(request, Entry.unread(data, company, sections=min(_count(data) + 1, MOST_SECTIONS)))
    if "use_start" in data:
        day, _, time = data["use_start"].partition("T")
        return _page(request, Entry.unread(data, company, day=day, time=time))
    entry = Entry.typed(data, company)
    if not entry.is_valid():
        return _page(request, entry, status=400)
    return _show(request, entry) if "show" in data else _book(request, entry)


def _job(form: BookingForm) -> Job:
    """The job chosen, or a new one at a new site, neither of them kept yet."""
    said = form.cleaned_data
    if said["job"] != NEW_JOB:
        return said["job"]
    site = Site(
        name=said["new_job_name"],
        address=said["new_address"],
        time_zone=said["new_time_zone"] or form.words.office.key,
        latitude=said["new_latitude"],
        longitude=said["new_longitude"],
        directions=said["new_directions"],
        trucks_must_back=said["new_trucks_must_back"],
        one_truck_at_a_time=said["new_one_truck_at_a_time"],
        power_lines=said["new_power_lines"],
    )
    return Job(name=said["new_job_name"], customer_name=said["new_customer"], site=site)


def _fields(form: BookingForm, job: Job) -> dict[str, Any]:
    said = form.cleaned_data
    wall = datetime.combine(said["day"], said["time"])
    return form.pour_fields(moment_of(wall, ZoneInfo(job.site.time_zone), field="time"))


def _show(request: HttpRequest, entry: Entry) -> HttpResponse:
    """The plan of what was typed; nothing is kept."""
    columns = [form.columns() for form in entry.sections]
    try:
        job = _job(entry.main)
        pour = Pour(job=job, **_fields(entry.main, job))
        result = planning.preview_pour(pour=pour, sections=columns, now=timezone.now())
        by = ordering.order_by(pour.plant, pour.starts_at)
        entry.plan = plan_sheet(pour, result, columns, by, entry.main.words)
        entry.clashes = _in_words(clashes_of_draft(pour, result), entry.main.words.units)
    except Refusal as refusal:
        entry.blame(refusal)
        return _page(request, entry, status=refusal.status)
    return _page(request, entry)


def _book(request: HttpRequest, entry: Entry) -> HttpResponse:
    now = timezone.now()
    try:
        pour = _keep(entry, person(request), now, accept="book_anyway" in request.POST)
    except Clashes as clashes:
        entry.clashes = _in_words(clashes.facts["clashes"], entry.main.words.units)
        return _page(request, entry, status=clashes.status)
    except Refusal as refusal:
        entry.blame(refusal)
        return _page(request, entry, status=refusal.status)
    messages.success(request, f"{pour.job.name} is booked.")
    return redirect("pour", pour.pk)


def _in_words(clashes: Sequence[PourClash], units: str) -> list[ClashWords]:
    """Clashes of a pour that was not kept: it is the one that cannot be found any more."""
    asked = {pour.pk for clash in clashes for pour in clash.pours}
    kept = set(Pour.objects.filter(pk__in=asked).values_list("pk", flat=True))
    return [clash_words(clash, units, is_new=lambda pour: pour.pk not in kept) for clash in clashes]


@transaction.atomic
def _keep(entry: Entry, by: User, now: datetime, *, accept: bool) -> Pour:
    """Keep a new job only together with its pour."""
    job = _job(entry.main)
    if job.pk is None:
        open_job(job=job, by=by)
    return booking.book_pour(
        job=job,
        sections=[form.columns() for form in entry.sections],
        by=by,
        now=now,
        accept_clashes=accept,
        **_fields(entry.main, job),
    )


def _page(request: HttpRequest, entry: Entry, status: int = 200) -> HttpResponse:
    return render(request, "pages/book.html", {"entry": entry, "here": "book"}, status=status)

"""Book a pour: a plan beside the form as it is typed, then book it, and settle clashes knowingly."""

import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta
from typing import Any
from urllib.parse import urlencode
from uuid import uuid4

from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from scheduling.errors import BookedAlready, Clashes, Refusal
from scheduling.models import Company, Mix, Plant, Pour, User
from scheduling.pages.access import needs, person
from scheduling.pages.broken import broken_kinds
from scheduling.pages.clashes import ClashWords, clash_words
from scheduling.pages.entry import Entry, count_of, filled
from scheduling.pages.plans import plan_sheet
from scheduling.pages.questions import unasked
from scheduling.pages.sketch import Known, Sketch, cannot_be, nothing_yet, sketch
from scheduling.pages.slabs import MOST_SECTIONS
from scheduling.pages.starts import StartOffer, start_offers
from scheduling.queries.bookings import usual_of_jobs
from scheduling.queries.clashes import NOT_KEPT, PourClash, clashes_of_draft
from scheduling.queries.holidays import day_fee
from scheduling.queries.week import local_day
from scheduling.queries.weekrules import broken_by_draft
from scheduling.roles import Right
from scheduling.services import booking, ordering, planning
from scheduling.services.jobs import open_job

# What a sketch needs to be a plan, as the page calls it.
NEEDED = {"job": "the job", "day": "the day", "time": "the time", "mix": "the mix"}
BOOKED = "booked"  # the cookie that names the page whose pour is kept
NO_COMPANY = "pages/no_company.html"


@needs(Right.BOOK)
def book(request: HttpRequest) -> HttpResponse:
    """The booking page, and what its buttons ask for."""
    company = Company.objects.first()
    if company is None:
        return render(request, NO_COMPANY, {"here": "book"})
    if request.method != "POST":
        return _begin(request, company)
    data = request.POST
    if "add_section" in data:
        return _page(request, Entry.unread(data, company, sections=min(count_of(data) + 1, MOST_SECTIONS)))
    if "fill" in data:
        return _page(request, Entry.unread(filled(data, data["fill"]), company))
    if "use_start" in data:
        day, _, at = data["use_start"].partition("T")
        # Nobody is asked whether they mean a time that was offered.
        fill = urlencode({"day": day, "time": at, "settled": f"time {at}"})
        return _page(request, Entry.unread(filled(data, fill), company))
    entry = Entry.typed(data, company)
    if not entry.is_valid():
        return _page(request, entry, status=400)
    if "other_starts" in data:
        return _page(request, entry, **_starts_of(entry))
    return _book(request, entry) if "book" in data or "book_anyway" in data else _show(request, entry)


def _begin(request: HttpRequest, company: Company) -> HttpResponse:
    """An empty page: with what the link says, else what the job or this person had last."""
    asked = request.GET.dict()
    by_job, own = usual_of_jobs(person(request))
    sections = count_of(request.GET)
    entry = Entry.fresh(company, {**own, **by_job.get(asked.get("job", ""), {}), **asked}, sections)
    return _page(request, entry, usual_json=json.dumps(by_job), is_fresh=True)


# --- while it is typed ------------------------------------------------------------------------


@dataclass(frozen=True)
class Draft:
    """A pour that is not kept, with its slab's columns and its plan."""

    pour: Pour
    columns: list[dict[str, Any]]
    result: dict[str, Any]
    clashes: list[ClashWords]


@require_POST
@needs(Right.BOOK)
def typed(request: HttpRequest) -> HttpResponse:
    """What the plan is so far, for the page to show beside the form."""
    company = Company.objects.first()
    if company is None:
        return render(request, NO_COMPANY, {"here": "book"})
    entry = Entry.typed(request.POST, company)
    entry.is_valid()
    unread = entry.unread_fields()
    entry.sketch = _sketch(entry, company)
    return render(request, "pages/typed.html", {"entry": entry, "unread": unread})


def _sketch(entry: Entry, company: Company) -> Sketch:
    questions = entry.questions()
    missing = tuple(words for name, words in NEEDED.items() if not entry.main.cleaned_data.get(name))
    known = Known("the mix" not in missing, not {"the job", "the day", "the time"} & {*missing}, missing)
    whole = [form for form in entry.sections if form.is_valid()]
    if not whole:
        return nothing_yet(questions)
    if len(whole) < len(entry.sections):
        known = replace(known, missing=(*missing, "the rest of the slab"))
    entry.sections, kept = whole, entry.sections
    try:
        _stand_in(entry, company)
        draft = _draft(entry)
    except Refusal as refused:
        return cannot_be(refused.message, questions)
    finally:
        entry.sections = kept
    if known.missing:
        draft.clashes.clear()
    entry.clashes = draft.clashes
    plant, starts_at = draft.pour.plant, draft.pour.starts_at
    by = ordering.order_by(plant, starts_at) if plant.pk else starts_at
    words = entry.main.words
    return sketch(draft.pour, draft.result, draft.columns, known, by, questions, draft.clashes, words)


def _stand_in(entry: Entry, company: Company) -> None:
    """Fill what is not said yet, so that the part of the plan that does not hang on it can be told."""
    form = entry.main
    form.stand_in()
    said = form.cleaned_data
    said["day"] = said["day"] or timezone.now().date() + timedelta(days=1)
    said["time"] = said["time"] or time(7)
    if not isinstance(said["allowance_value"], float):
        said["allowance_kind"], said["allowance_value"] = "percent", company.allowance_percent
    said["mix"] = said["mix"] or Mix(
        plant=Plant(time_zone=company.time_zone), strength_mpa=28.0, aggregate_mm=19.0
    )


def _draft(entry: Entry) -> Draft:
    """Plan what was typed; nothing is kept."""
    columns, words = entry.columns(), entry.main.words
    job = entry.job()
    pour = Pour(job=job, **entry.fields(job))
    result = planning.preview_pour(pour=pour, sections=columns, now=timezone.now())
    clashes = _in_words(clashes_of_draft(pour, result), words.units)
    return Draft(pour, columns, result, clashes)


@require_POST
@needs(Right.BOOK)
def rules(request: HttpRequest) -> HttpResponse:
    """Rules of the week that the pour as typed would break, and what its plant asks for that day.

    They are asked for once what is typed rests: they take as long as the plan.
    """
    company = Company.objects.first()
    if company is None:
        return render(request, NO_COMPANY, {"here": "book"})
    entry = Entry.typed(request.POST, company)
    shown = _rules_of(entry, company) if entry.is_valid() else {}
    return render(request, "pages/book_rules.html", shown)


def _rules_of(entry: Entry, company: Company) -> dict[str, Any]:
    try:
        draft = _draft(entry)
    except Refusal:
        return {}
    pour, words, now = draft.pour, entry.main.words, timezone.now()
    order_m3 = draft.result["quantity"]["order_m3"]
    fee = day_fee(pour.plant, company, local_day(pour), order_m3)
    return {
        "broken": broken_kinds(broken_by_draft(pour, draft.result, now), words),
        "fee": f"{pour.plant.name} asks {words.money(fee)} more on that day." if fee else "",
    }


@require_POST
@needs(Right.BOOK)
def other_starts(request: HttpRequest) -> HttpResponse:
    """The best other hours of the day typed, each with a button that fills it in."""
    company = Company.objects.first()
    if company is None:
        return render(request, NO_COMPANY, {"here": "book"})
    entry = Entry.typed(request.POST, company)
    found = _starts_of(entry) if entry.is_valid() else {"starts_problem": "First fill in what is missing."}
    return render(request, "pages/other_starts.html", found)


def _starts_of(entry: Entry) -> dict[str, Any]:
    try:
        return {"offers": _offers(entry)}
    except Refusal as refused:
        return {"offers": (), "starts_problem": refused.message}


def _offers(entry: Entry) -> Sequence[StartOffer]:
    job = entry.job()
    pour = Pour(job=job, **entry.fields(job))
    choices = planning.starts_of_draft(pour=pour, sections=entry.columns(), now=timezone.now())
    return start_offers(pour, choices, entry.main.words)


# --- shown whole, and booked ------------------------------------------------------------------


def _show(request: HttpRequest, entry: Entry, status: int = 200) -> HttpResponse:
    """The whole plan of what was typed; nothing is kept."""
    words = entry.main.words
    try:
        draft = _draft(entry)
    except Refusal as refusal:
        entry.asks = False
        entry.blame(refusal)
        return _page(request, entry, status=refusal.status)
    by = ordering.order_by(draft.pour.plant, draft.pour.starts_at)
    entry.plan = plan_sheet(draft.pour, draft.result, draft.columns, by, words)
    entry.clashes = draft.clashes
    known, questions = Known(mix=True, when=True, missing=()), entry.questions()
    entry.sketch = sketch(draft.pour, draft.result, draft.columns, known, by, questions, draft.clashes, words)
    return _page(request, entry, status=status)


def _book(request: HttpRequest, entry: Entry) -> HttpResponse:
    anyway = "book_anyway" in request.POST
    if not anyway and unasked(entry.questions(), entry.shown):
        entry.asks = True
        return _show(request, entry, status=409)
    now = timezone.now()
    try:
        pour = _keep(entry, person(request), now, accept=anyway)
    except BookedAlready as already:
        return _booked_already(request, entry, already.facts["pour"])
    except Clashes as clashes:
        entry.is_refused = True
        return _show(request, entry, status=clashes.status)
    except Refusal as refusal:
        entry.blame(refusal)
        return _page(request, entry, status=refusal.status)
    messages.success(request, f"{pour.job.name} is booked.")
    return _to_pour(entry, pour.pk)


def _booked_already(request: HttpRequest, entry: Entry, pk: int) -> HttpResponse:
    """A second press leads to the pour; another pour from the same page, as after going back, is one more."""
    kept = Pour.objects.select_related("job").get(pk=pk)
    job = entry.job()
    is_same_job = job.pk == kept.job_id or (job.pk is None and job.name == kept.job.name)
    if is_same_job and entry.fields(kept.job)["starts_at"] == kept.starts_at:
        return _to_pour(entry, pk)
    entry.key = str(uuid4())
    return _book(request, entry)


def _to_pour(entry: Entry, pk: int) -> HttpResponse:
    """To the pour's page; the browser is told which draft it need not keep any more."""
    answer = redirect("pour", pk)
    if entry.key:
        answer.set_cookie(BOOKED, entry.key, max_age=30 * 24 * 3600, samesite="Lax")
    return answer


def _in_words(clashes: Sequence[PourClash], units: str) -> list[ClashWords]:
    """Clashes of a pour that is not kept."""
    return [clash_words(clash, units, is_new=lambda pour: pour.pk == NOT_KEPT) for clash in clashes]


@transaction.atomic
def _keep(entry: Entry, by: User, now: datetime, *, accept: bool) -> Pour:
    """Keep a new job only together with its pour."""
    job = entry.job()
    if job.pk is None:
        open_job(job=job, by=by)
    return booking.book_pour(
        job=job,
        sections=entry.columns(),
        by=by,
        now=now,
        accept_clashes=accept,
        key=entry.key,
        **entry.fields(job),
    )


def _page(request: HttpRequest, entry: Entry, status: int = 200, **more: Any) -> HttpResponse:
    return render(request, "pages/book.html", {"entry": entry, "here": "book", **more}, status=status)

"""Forms to release and inspections to pass, on the page of their pour."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from scheduling.errors import Refusal
from scheduling.models import Paper, PaperKind, Pour
from scheduling.pages.access import needs, person, pour_or_404
from scheduling.pages.clashes import site_zone
from scheduling.pages.fields import PlainForm
from scheduling.pages.wording import Words
from scheduling.roles import Right
from scheduling.services import papers

NAMES = {PaperKind.FORMS: "Forms", PaperKind.INSPECTION: "Inspection"}
DONE = {PaperKind.FORMS: "released", PaperKind.INSPECTION: "passed"}


@dataclass(frozen=True)
class PaperRow:
    """What the pour needs, or may yet be said to need."""

    kind: str
    name: str
    done: str  # what they call it once it is settled
    is_asked: bool
    is_open: bool
    passed: str


class PaperForm(PlainForm):
    kind = forms.ChoiceField(choices=PaperKind.choices)
    act = forms.ChoiceField(choices=[(act, act) for act in ("ask", "passed", "drop")])
    passed_by = forms.CharField(required=False, max_length=120)


def paper_rows(pour: Pour, kept: Sequence[Paper], words: Words) -> tuple[PaperRow, ...]:
    """A row for each kind of paper."""
    of_kind = {PaperKind(paper.kind): paper for paper in kept}
    return tuple(_row(kind, of_kind.get(kind), pour, words) for kind in PaperKind)


def _row(kind: PaperKind, paper: Paper | None, pour: Pour, words: Words) -> PaperRow:
    passed = ""
    if paper and paper.passed_at:
        passed = f"by {paper.passed_by}, {words.day_and_time(paper.passed_at, site_zone(pour))}"
    is_open = paper is not None and paper.is_open
    return PaperRow(kind.value, NAMES[kind], DONE[kind], paper is not None, is_open, passed)


@require_POST
@needs(Right.BOOK)
def settle(request: HttpRequest, pk: int) -> HttpResponse:
    """Ask for one, note that it passed, or that the pour does not need it."""
    pour = pour_or_404(request, pk)
    form = PaperForm(request.POST)
    if not form.is_valid():
        messages.error(request, "Say what it is about, and who released or passed it.")
        return redirect("pour", pk)
    said = form.cleaned_data
    kind = PaperKind(said["kind"])
    acts: dict[str, tuple[Callable[..., Any], dict[str, str], str]] = {
        "ask": (papers.ask, {}, f"Noted: no order is confirmed until that is {DONE[kind]}."),
        "passed": (papers.passed, {"passed_by": said["passed_by"]}, f"Noted as {DONE[kind]}."),
        "drop": (papers.drop, {}, "Noted: this pour does not need it."),
    }
    act, more, done = acts[said["act"]]
    try:
        act(pour=pour, kind=kind, by=person(request), now=timezone.now(), **more)
        messages.success(request, done)
    except Refusal as refused:
        messages.error(request, refused.message)
    return redirect("pour", pk)

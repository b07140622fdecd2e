"""What people do with a better week: ask for one, look how far it is, stop it, take it."""

from collections.abc import Callable
from datetime import date
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from scheduling.errors import Clashes, Refusal
from scheduling.models import UNDER_WAY, Company, Site, WeekProposal
from scheduling.pages.access import needs, person
from scheduling.pages.betterweek import better_week, progress_words
from scheduling.pages.week import Anyway, show_week
from scheduling.pages.weekplace import asked_day
from scheduling.pages.wording import Words
from scheduling.queries.week import week_view
from scheduling.roles import Right
from scheduling.services import week, weekaccept


class AskForm(forms.Form):
    """Which week, and what of it is lost."""

    day = forms.DateField()
    rained_out = forms.BooleanField(required=False)
    lost_on = forms.DateField(required=False)
    lost_site = forms.ModelChoiceField(Site.objects.all(), required=False)

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        if said.pop("rained_out", False) and not (said.get("lost_on") or said.get("lost_site")):
            raise forms.ValidationError("Say which day is lost, or which site.")
        return said


class TakeForm(forms.Form):
    """One pour, or none named for all that are left."""

    pour = forms.IntegerField(required=False, min_value=1)
    accept_clashes = forms.BooleanField(required=False)


@require_POST
@needs(Right.ASSIGN)
def ask(request: HttpRequest) -> HttpResponse:
    form = AskForm(request.POST)
    if not form.is_valid():
        problem = " ".join(map(str, form.non_field_errors())) or "Choose the week, and a day of it."
        return show_week(request, form.cleaned_data.get("day"), problem, 400)
    said = form.cleaned_data
    return _act(request, said["day"], lambda: week.ask(by=person(request), now=timezone.now(), **said))


@require_POST
@needs(Right.ASSIGN)
def stop(request: HttpRequest, pk: int) -> HttpResponse:
    proposal = get_object_or_404(WeekProposal, pk=pk)
    return _act(
        request,
        proposal.monday,
        lambda: week.stop(proposal=proposal, by=person(request), now=timezone.now()),
    )


@require_POST
@needs(Right.ASSIGN)
def take(request: HttpRequest, pk: int) -> HttpResponse:
    proposal, form = get_object_or_404(WeekProposal, pk=pk), TakeForm(request.POST)
    if not form.is_valid():
        return show_week(request, proposal.monday, "Choose a pour of the proposal.", 400)
    said = form.cleaned_data

    def act() -> object:
        return weekaccept.accept(
            proposal=proposal,
            by=person(request),
            now=timezone.now(),
            pours=[said["pour"]] if said["pour"] else None,
            accept_clashes=said["accept_clashes"],
        )

    done = "Moved as proposed, and planned afresh."
    return _act(request, proposal.monday, act, done, Anyway(proposal.pk, said["pour"] or 0))


def _act(
    request: HttpRequest,
    day: date,
    act: Callable[[], object],
    done: str = "",
    anyway: Anyway | None = None,
) -> HttpResponse:
    """Do it and go back to the week; what cannot be done is said above it."""
    try:
        act()
    except Clashes as refused:
        clashing = refused.facts["clashes"]
        return show_week(request, day, refused.message, refused.status, clashing, anyway=anyway)
    except Refusal as refused:
        return show_week(request, day, refused.message, refused.status)
    if done:
        messages.success(request, done)
    return redirect(f"{reverse('week-of')}?day={day:%Y-%m-%d}#better-week")


@require_GET
@needs(Right.ASSIGN)
def progress(request: HttpRequest, pk: int) -> HttpResponse:
    """The line that tells how far it is; once it is done the whole section takes its own place."""
    proposal = get_object_or_404(WeekProposal, pk=pk)
    if proposal.state in UNDER_WAY:
        return render(request, "pages/progress.html", {"progress": progress_words(proposal)})
    view = week_view(person(request), asked_day(f"{proposal.monday:%Y-%m-%d}", proposal.monday))
    better = better_week(view, person(request), Words.of(Company.objects.first()))
    answer = render(request, "pages/better_week.html", {"better": better})
    answer["HX-Retarget"], answer["HX-Reswap"] = "#better-week", "outerHTML"
    return answer

"""Forms to be released and inspections to be passed before concrete may come."""

from collections.abc import Sequence
from datetime import datetime

from django.db import transaction

from scheduling import bridge
from scheduling.engine.inputs import Section
from scheduling.errors import NotAllowed, Refusal
from scheduling.models import EventKind, Paper, PaperKind, Pour, User
from scheduling.queries.papers import open_papers
from scheduling.roles import Right
from scheduling.services import notices, reminders
from scheduling.services.history import record
from scheduling.services.slabs import Columns, draft_sections, engine_sections


@transaction.atomic
def ask(*, pour: Pour, kind: PaperKind, by: User, now: datetime) -> Paper:
    """Note that the pour needs it; one that had passed is open again."""
    pour = _raised(pour, by)
    paper, made = Paper.objects.get_or_create(pour=pour, kind=kind)
    if made or not paper.is_open:
        event = EventKind.PAPER_ASKED if made else EventKind.PAPER_REOPENED
        _keep(paper, None, "", event, by, now)
    _tell(pour, now)
    return paper


@transaction.atomic
def passed(*, pour: Pour, kind: PaperKind, passed_by: str, by: User, now: datetime) -> Paper:
    """Note that it is released or passed, and who said so.

    Raises
    ------
    Refusal
        If nobody is named, or the pour does not need it.
    """
    if not passed_by.strip():
        raise Refusal("Say who released it.", code="nobody_named", field="passed_by")
    pour = _raised(pour, by)
    paper = Paper.objects.filter(pour=pour, kind=kind).first()
    if paper is None:
        raise Refusal("This pour does not need that.", code="paper_not_asked", field="kind")
    if paper.is_open:
        _keep(paper, now, passed_by.strip(), EventKind.PAPER_PASSED, by, now)
    _tell(pour, now)
    return paper


@transaction.atomic
def drop(*, pour: Pour, kind: PaperKind, by: User, now: datetime) -> None:
    """Note that the pour does not need it after all."""
    pour = _raised(pour, by)
    if Paper.objects.filter(pour=pour, kind=kind).delete()[0]:
        record(pour, EventKind.PAPER_DROPPED, by=by, now=now, paper=kind.value)
    _tell(pour, now)


def reopen_where_changed(*, pour: Pour, sections: Sequence[Columns], by: User, now: datetime) -> None:
    """What was looked at is to be looked at again once the slab is another, before the new one is kept."""
    passed_ones = list(pour.papers.select_for_update().filter(passed_at__isnull=False))
    if passed_ones and _shapes(bridge.kept_sections(pour)) != _shapes(
        engine_sections(draft_sections(sections))
    ):
        for paper in passed_ones:
            _keep(paper, None, "", EventKind.PAPER_REOPENED, by, now)


def _shapes(sections: Sequence[Section]) -> list[tuple[object, ...]]:
    return [(one.outline, one.depth, one.edges, one.openings) for one in sections]


def require_passed(pour: Pour) -> None:
    """Refuse to promise concrete to a pour of which something is still to be looked at."""
    if missing := open_papers(pour):
        told = " and ".join(PaperKind(kind).label for kind in missing)
        raise Refusal(
            f"Still open: {told}. The order is confirmed once that is released.",
            code="papers_open",
            facts={"papers": missing},
        )


def _keep(
    paper: Paper, at: datetime | None, passed_by: str, event: EventKind, by: User, now: datetime
) -> None:
    paper.passed_at, paper.passed_by, paper.noted_by = at, passed_by, by
    paper.save()
    record(paper.pour, event, by=by, now=now, paper=paper.kind, passed_by=passed_by)


def _raised(pour: Pour, by: User) -> Pour:
    """The pour as it is kept, its version raised: whoever was told of it may have to hear otherwise."""
    if not by.may(Right.BOOK):
        raise NotAllowed("Your role does not include this.", code="not_allowed")
    kept = Pour.objects.select_for_update(of=("self",)).get(pk=pour.pk)
    kept.version += 1
    kept.save(update_fields=["version"])
    return kept


def _tell(pour: Pour, now: datetime) -> None:
    """The evening's word to dispatch and the crew's own hang on it."""
    if pour.plan:
        reminders.follow_plan(pour=pour, plan=pour.plan, now=now)
    notices.tell(pour=pour, now=now)

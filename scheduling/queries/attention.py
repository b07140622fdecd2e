"""What needs a person before it is too late: orders, texts, replies, stale plans, what a pour still lacks."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db.models import Count, Exists, F, IntegerField, OuterRef, Q, QuerySet, Subquery
from django.db.models.functions import Coalesce

from scheduling.models import (
    MADE_UP,
    STANDING,
    STANDING_ORDER,
    EventKind,
    Message,
    MessageKind,
    MessageState,
    OrderState,
    Paper,
    PaperKind,
    PlantOrder,
    Pour,
    PourEvent,
    Reply,
    SiteForecast,
    User,
)
from scheduling.queries.forecasts import USELESS_AFTER
from scheduling.queries.oncall import LATELY, NEEDS_A_PERSON, STUCK_AFTER, replies_to_read
from scheduling.queries.visible import pours_for

# How far ahead is looked beside the week shown, and how long a lead has to answer a text (our choice).
LOOK_AHEAD = timedelta(days=4)
ANSWER_WITHIN = timedelta(minutes=30)
MOST_ROWS = 100
# They raise a pour's version and ask nothing of its plan.
TURNS = (
    EventKind.HELD,
    EventKind.RELEASED,
    EventKind.PAPER_ASKED,
    EventKind.PAPER_PASSED,
    EventKind.PAPER_REOPENED,
    EventKind.PAPER_DROPPED,
)


@dataclass(frozen=True)
class Attention:
    """Everything that somebody must settle; pours in order of time, each as it is kept now."""

    to_call: tuple[Any, ...] = ()  # with `.order_state` and `.call_by`, as all of these pours
    unconfirmed: tuple[Any, ...] = ()
    without_crew: tuple[Any, ...] = ()
    forms_open: tuple[Any, ...] = ()  # to be released before concrete may come
    inspection_open: tuple[Any, ...] = ()
    without_spotter: tuple[Any, ...] = ()  # though trucks must back in
    changed_since_plan: tuple[Any, ...] = ()  # their plan is missing, or of an earlier version
    newer_forecast: tuple[Any, ...] = ()  # their plan rests on an earlier one
    lost_texts: tuple[Message, ...] = ()
    unanswered: tuple[Message, ...] = ()
    replies: tuple[Reply, ...] = ()


def attention(user: User, until: datetime, now: datetime) -> Attention:
    """All of it in three queries; of pours, those that start from `now` up to `until`."""
    pours = list(coming_pours(user, max(until, now + LOOK_AHEAD), now)[:MOST_ROWS])
    texts = list(texts_to_mind(now)[:MOST_ROWS])
    return Attention(
        to_call=tuple(pour for pour in pours if pour.order_state == OrderState.TO_CALL),
        unconfirmed=tuple(pour for pour in pours if pour.order_state == OrderState.CALLED),
        without_crew=tuple(pour for pour in pours if pour.crew_id is None),
        forms_open=tuple(pour for pour in pours if pour.forms_open),
        inspection_open=tuple(pour for pour in pours if pour.inspection_open),
        without_spotter=tuple(p for p in pours if p.job.site.trucks_must_back and not p.spotter),
        changed_since_plan=tuple(pour for pour in pours if _is_of_an_earlier_version(pour)),
        newer_forecast=tuple(pour for pour in pours if _rests_on_an_earlier_forecast(pour)),
        lost_texts=tuple(text for text in texts if text.kind != MessageKind.MORNING or _is_lost(text)),
        unanswered=tuple(text for text in texts if text.kind == MessageKind.MORNING and not _is_lost(text)),
        replies=tuple(replies_to_read()[:MOST_ROWS]),
    )


def coming_pours(user: User, until: datetime, now: datetime) -> QuerySet[Pour, Any]:
    """Standing pours to come with what their order says, and what became known since they were planned."""
    order = PlantOrder.objects.filter(pour=OuterRef("pk"), state__in=STANDING_ORDER).order_by("-revision")
    turns = PourEvent.objects.filter(pour=OuterRef("pk"), kind__in=TURNS, at__gte=OuterRef("plan__made_at"))
    counted = turns.order_by().values("pour").annotate(count=Count("pk")).values("count")
    papers = Paper.objects.filter(pour=OuterRef("pk"), passed_at=None)
    in_time = Q(fetched_at__gte=now - USELESS_AFTER) | Q(provider=MADE_UP)
    newest = SiteForecast.objects.filter(
        in_time,
        site=OuterRef("job__site"),
        starts_at__lte=OuterRef("starts_at"),
        ends_at__gt=OuterRef("starts_at"),
    ).order_by("-fetched_at", "-id")
    return (
        pours_for(user)
        .filter(state__in=STANDING, starts_at__gt=now, starts_at__lt=until)
        .defer("plan__inputs", "plan__result")
        .annotate(
            order_state=Subquery(order.values("state")[:1]),
            call_by=Subquery(order.values("order_by")[:1]),
            turned=Coalesce(Subquery(counted, output_field=IntegerField()), 0),
            forms_open=Exists(papers.filter(kind=PaperKind.FORMS)),
            inspection_open=Exists(papers.filter(kind=PaperKind.INSPECTION)),
            newest_forecast=Subquery(newest.values("pk")[:1]),
        )
        .order_by("starts_at", "pk")
    )


def _is_of_an_earlier_version(pour: Any) -> bool:
    return pour.plan is None or pour.version - pour.plan.pour_version > pour.turned


def _rests_on_an_earlier_forecast(pour: Any) -> bool:
    return pour.plan is not None and pour.newest_forecast not in (None, pour.plan.forecast_id)


def texts_to_mind(now: datetime) -> QuerySet[Message]:
    """Texts of the last days that were lost, are stuck, or that a lead has not answered."""
    lost = Q(state__in=NEEDS_A_PERSON, due_at__gt=now - LATELY, due_at__lte=now)
    stuck = Q(state=MessageState.QUEUED, due_at__lte=now - STUCK_AFTER, useful_until__gt=now)
    unanswered = Q(
        kind=MessageKind.MORNING,
        state__in=(MessageState.SENT, MessageState.DELIVERED),
        sent_at__lte=now - ANSWER_WITHIN,
        useful_until__gt=now,
        answered_at=None,
        reply=None,
    )
    return (
        Message.objects.filter(lost | stuck | unanswered)
        .select_related("recipient")
        .order_by(F("due_at").desc(), "-pk")
        .distinct()
    )


def _is_lost(text: Message) -> bool:
    return text.state in (*NEEDS_A_PERSON, MessageState.QUEUED)

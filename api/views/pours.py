"""Pours and their plans."""

import re
from collections.abc import Callable
from typing import Any

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import mixins
from rest_framework.decorators import action
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from api.errors import VersionMissing
from api.examples import BOOKINGS
from api.filters import PourFilter
from api.schema import IF_MATCH
from api.serializers.base import Closed
from api.serializers.conflicts import ClashRow, refused_clash_rows
from api.serializers.live import LiveAnswer, NoteGiven, NoteRow
from api.serializers.plans import PlanAnswer, PlanSummary, plan_row
from api.serializers.pours import (
    EventRow,
    PaperAsk,
    PaperPassed,
    PourAnswer,
    PourBooking,
    PourChange,
    PourMove,
    PourReason,
    PourRow,
    Versioned,
    zone_of,
)
from api.serializers.starts import StartChoiceRow
from api.views.base import Door
from scheduling.models import Plan, Pour
from scheduling.queries.visible import pours_for
from scheduling.roles import Right
from scheduling.services import booking, live, papers, planning

ETAG = re.compile(r'(?:W/)?"([1-9][0-9]{0,9})"')


class PourDoor(mixins.ListModelMixin, Door):
    """Pours: each one visit of trucks to one site."""

    filterset_class = PourFilter
    queryset = Pour.objects.none()  # which rows, the person decides
    read_right = Right.SEE_WEEK
    write_right = Right.BOOK

    def get_queryset(self) -> QuerySet[Pour]:
        pours = pours_for(self.person).select_related("mix__plant", "booked_by").order_by("starts_at", "id")
        if self.action == "list":
            return pours.defer("plan__inputs", "plan__result")
        return pours.select_related("plan__made_by", "plan__forecast").prefetch_related(
            "sections__edges", "sections__openings", "papers__pour__job__site"
        )

    def get_serializer_class(self) -> type[Any]:
        return PourRow if self.action == "list" else PourAnswer

    def present_facts(self, facts: dict[str, Any]) -> dict[str, Any]:
        """What a refusal tells programs, in the shape of this door."""
        if "clashes" not in facts:
            return facts
        rows = refused_clash_rows(facts["clashes"])
        return {**facts, "clashes": ClashRow(rows, many=True, context=self.get_serializer_context()).data}

    @extend_schema(responses=PourAnswer)
    def retrieve(self, request: Request, pk: int) -> Response:
        """A pour with everything said about it and its current plan."""
        return self._answer(self.get_object())

    @extend_schema(request=PourBooking, responses={201: PourAnswer}, examples=BOOKINGS)
    def create(self, request: Request) -> Response:
        """Book a pour. It is planned at once, and its order and reminders are made."""
        pour = booking.book_pour(by=self.person, now=timezone.now(), **self.checked(PourBooking))
        answer = self._answer(self._as_kept(pour), status=201)
        answer["Location"] = reverse("api-pours-detail", kwargs={"pk": pour.pk})
        return answer

    @extend_schema(request=PourChange, responses=PourAnswer, parameters=[IF_MATCH])
    def partial_update(self, request: Request, pk: int) -> Response:
        """Change what a pour says. Sections, where given, take the place of all it had."""
        return self._do(booking.change_pour, PourChange)

    @extend_schema(operation_id="pours_move", request=PourMove, responses=PourAnswer, parameters=[IF_MATCH])
    @action(detail=True, methods=["post"])
    def move(self, request: Request, pk: int) -> Response:
        """Move a pour to another start."""
        return self._do(booking.move_pour, PourMove)

    @extend_schema(operation_id="pours_hold", request=PourReason, responses=PourAnswer, parameters=[IF_MATCH])
    @action(detail=True, methods=["post"])
    def hold(self, request: Request, pk: int) -> Response:
        """Put a pour on hold: its people are told not to go, its order cannot be confirmed."""
        return self._do(booking.hold_pour, PourReason)

    @extend_schema(
        operation_id="pours_release", request=Versioned, responses=PourAnswer, parameters=[IF_MATCH]
    )
    @action(detail=True, methods=["post"])
    def release(self, request: Request, pk: int) -> Response:
        """Release a pour from hold."""
        return self._do(booking.release_pour, Versioned)

    @extend_schema(
        operation_id="pours_cancel", request=PourReason, responses=PourAnswer, parameters=[IF_MATCH]
    )
    @action(detail=True, methods=["post"])
    def cancel(self, request: Request, pk: int) -> Response:
        """Cancel a pour with its order and everything still due for it."""
        return self._do(booking.cancel_pour, PourReason)

    @extend_schema(operation_id="pours_ask_paper", request=PaperAsk, responses=PourAnswer)
    @action(detail=True, methods=["post"], url_path="ask-paper")
    def ask_paper(self, request: Request, pk: int) -> Response:
        """Say that forms must be released, or an inspection passed, before concrete may come."""
        return self._paper(papers.ask, PaperAsk)

    @extend_schema(operation_id="pours_pass_paper", request=PaperPassed, responses=PourAnswer)
    @action(detail=True, methods=["post"], url_path="pass-paper")
    def pass_paper(self, request: Request, pk: int) -> Response:
        """Say that they are released or it is passed, and by whom."""
        return self._paper(papers.passed, PaperPassed)

    @extend_schema(operation_id="pours_drop_paper", request=PaperAsk, responses=PourAnswer)
    @action(detail=True, methods=["post"], url_path="drop-paper")
    def drop_paper(self, request: Request, pk: int) -> Response:
        """Say that the pour does not need it after all."""
        return self._paper(papers.drop, PaperAsk)

    @extend_schema(operation_id="pours_plan", request=Versioned, responses=PourAnswer, parameters=[IF_MATCH])
    @action(detail=True, methods=["post"])
    def plan(self, request: Request, pk: int) -> Response:
        """Plan a pour afresh, with the newest forecast of its site."""
        return self._do(booking.replan_pour, Versioned)

    @extend_schema(operation_id="pours_plans_list", responses=PlanSummary(many=True))
    @action(detail=True, filterset_class=None)
    def plans(self, request: Request, pk: int) -> Response:
        """Every plan a pour has had, newest first."""
        pour = self.get_object()
        rows = pour.plans.defer("inputs", "result").order_by("-number", "id")
        return self.paged(rows, PlanSummary, zone=zone_of(pour))

    @extend_schema(operation_id="pours_starts_list", responses=StartChoiceRow(many=True))
    @action(detail=True, filterset_class=None)
    def starts(self, request: Request, pk: int) -> Response:
        """Every half hour of the pour's day that is still ahead, best first, and what speaks against each."""
        pour = self.get_object()
        return self.paged(
            planning.better_starts(pour=pour, now=timezone.now()), StartChoiceRow, zone=zone_of(pour)
        )

    @extend_schema(operation_id="pours_events_list", responses=EventRow(many=True))
    @action(detail=True, filterset_class=None)
    def events(self, request: Request, pk: int) -> Response:
        """What happened to a pour and who did it, oldest first."""
        rows = self.get_object().events.select_related("by", "pour__job__site").order_by("at", "id")
        return self.paged(rows, EventRow)

    @extend_schema(operation_id="pours_standing", responses=LiveAnswer)
    @action(detail=True, filterset_class=None)
    def standing(self, request: Request, pk: int) -> Response:
        """How a pour under way stands by what was noted on site: trucks, slab, what is left, and alarms."""
        pour = self.get_object()
        context = {**self.get_serializer_context(), "zone": zone_of(pour)}
        return Response(LiveAnswer(live.standing(pour=pour, now=timezone.now()), context=context).data)

    @extend_schema(methods=["GET"], operation_id="pours_notes_list", responses=NoteRow(many=True))
    @extend_schema(methods=["POST"], operation_id="pours_note", request=NoteGiven, responses={201: NoteRow})
    @action(detail=True, methods=["get", "post"], filterset_class=None, write_right=Right.NOTE_DAY)
    def notes(self, request: Request, pk: int) -> Response:
        """What was noted on site, oldest first; or note something."""
        pour = self.get_object()
        if request.method == "GET":
            rows = pour.site_notes.select_related("by", "pour__job__site").order_by("happened_at", "id")
            return self.paged(rows, NoteRow)
        now = timezone.now()
        given = {"happened_at": now, **self.checked(NoteGiven, pour)}
        made = live.note(pour=pour, by=self.person, now=now, **given)
        return Response(NoteRow(made, context=self.get_serializer_context()).data, status=201)

    @extend_schema(operation_id="pours_note_undo", request=None, responses=NoteRow)
    @action(detail=True, methods=["post"], url_path="notes/<int:note>/undo", write_right=Right.NOTE_DAY)
    def undo_note(self, request: Request, pk: int, note: int) -> Response:
        """Take a note back, within ten minutes of making it."""
        kept = get_object_or_404(self.get_object().site_notes, pk=note)
        undone = live.undo(note=kept, by=self.person, now=timezone.now())
        return Response(NoteRow(undone, context=self.get_serializer_context()).data)

    def _paper(self, service: Callable[..., Any], kind: type[Closed]) -> Response:
        pour = self.get_object()
        service(pour=pour, by=self.person, now=timezone.now(), **self.checked(kind))
        return self._answer(self._as_kept(pour))

    def _do(self, service: Callable[..., Any], kind: type[Closed]) -> Response:
        """Ask the service for the change that the body tells, from the version it names."""
        pour = self.get_object()
        given = self.checked(kind, pour)
        given["version"] = version_asked(self.request, given.get("version"))
        service(pour=pour, by=self.person, now=timezone.now(), **given)
        return self._answer(self._as_kept(pour))

    def _as_kept(self, pour: Pour) -> Pour:
        return self.get_queryset().get(pk=pour.pk)

    def _answer(self, pour: Pour, status: int = 200) -> Response:
        headers = {"ETag": f'"{pour.version}"'}
        return Response(self.get_serializer(pour).data, status=status, headers=headers)


def version_asked(request: Request, in_body: int | None) -> int:
    """The version that a change was made from, from the body or the If-Match header."""
    header = request.headers.get("If-Match")
    if header is None:
        if in_body is None:
            raise VersionMissing
        return in_body
    etag = ETAG.fullmatch(header)
    if etag is None or in_body not in (None, int(etag[1])):
        raise ValidationError(
            {"If-Match": 'Give the one ETag that the pour came with, as in “If-Match: "3"”.'}, code="invalid"
        )
    return int(etag[1])


class PlanDoor(Door):
    """Plans as they were kept; none is ever changed."""

    queryset = Plan.objects.none()  # which rows, the person decides
    read_right = Right.SEE_WEEK

    def get_queryset(self) -> QuerySet[Plan]:
        plans = Plan.objects.select_related("made_by", "forecast", "pour__job__site")
        return plans.filter(pour__in=pours_for(self.person))

    @extend_schema(responses=PlanAnswer)
    def retrieve(self, request: Request, pk: int) -> Response:
        """A plan with everything it says."""
        plan = self.get_object()
        context = {**self.get_serializer_context(), "zone": zone_of(plan.pour)}
        return Response(PlanAnswer(plan_row(plan), context=context).data)

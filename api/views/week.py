"""Better weeks, proposed."""

from typing import Any

from django.db.models import QuerySet
from django.urls import reverse
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import mixins
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from api.serializers.base import Closed
from api.serializers.conflicts import ClashRow, refused_clash_rows
from api.serializers.week import WeekAccept, WeekAsk, WeekProposalAnswer, WeekProposalRow
from api.views.base import Door
from scheduling.models import WeekProposal
from scheduling.roles import Right
from scheduling.services import week, weekaccept


class WeekProposalDoor(mixins.ListModelMixin, mixins.RetrieveModelMixin, Door):
    """Weeks that were asked to be bettered, the latest first."""

    queryset = WeekProposal.objects.select_related("lost_site", "asked_by", "settled_by").order_by(
        "-asked_at", "-id"
    )
    read_right = Right.SEE_ALL_POURS
    write_right = Right.ASSIGN

    def get_queryset(self) -> QuerySet[WeekProposal]:
        rows = super().get_queryset()
        return rows.defer("result", "base") if self.action == "list" else rows

    def get_serializer_class(self) -> type[Any]:
        return WeekProposalRow if self.action == "list" else WeekProposalAnswer

    def present_facts(self, facts: dict[str, Any]) -> dict[str, Any]:
        """What a refusal tells programs, in the shape of this door."""
        if "clashes" not in facts:
            return facts
        rows = refused_clash_rows(facts["clashes"])
        return {**facts, "clashes": ClashRow(rows, many=True, context=self.get_serializer_context()).data}

    @extend_schema(request=WeekAsk, responses={202: WeekProposalAnswer})
    def create(self, request: Request) -> Response:
        """Ask for a better week. A worker seeks it; read the proposal again to see how far it has come."""
        proposal = week.ask(by=self.person, now=timezone.now(), **self.checked(WeekAsk))
        answer = self._answer(proposal, status=202)
        answer["Location"] = reverse("api-week-proposals-detail", kwargs={"pk": proposal.pk})
        return answer

    @extend_schema(operation_id="week_proposals_stop", request=Closed, responses=WeekProposalAnswer)
    @action(detail=True, methods=["post"])
    def stop(self, request: Request, pk: int) -> Response:
        """Stop the work; the best week found so far is kept."""
        proposal = self.get_object()
        self.checked(Closed)
        return self._answer(week.stop(proposal=proposal, by=self.person, now=timezone.now()))

    @extend_schema(operation_id="week_proposals_accept", request=WeekAccept, responses=WeekProposalAnswer)
    @action(detail=True, methods=["post"])
    def accept(self, request: Request, pk: int) -> Response:
        """Move the pours as proposed. Refused with what changed if the week is no longer as it was read."""
        taken = weekaccept.accept(
            proposal=self.get_object(), by=self.person, now=timezone.now(), **self.checked(WeekAccept)
        )
        return self._answer(taken)

    def _answer(self, proposal: WeekProposal, status: int = 200) -> Response:
        kept = self.get_queryset().get(pk=proposal.pk)
        return Response(self.get_serializer(kept).data, status=status)

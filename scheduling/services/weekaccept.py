"""Take a proposed week, whole or pour by pour; refused once the week it rests on has changed."""

from collections.abc import Collection
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.db import transaction

from scheduling.errors import OutOfDate, Refusal
from scheduling.models import HAS_A_WEEK, Crew, Pour, ProposalState, User, WeekProposal
from scheduling.queries.week import office_zone
from scheduling.services import booking
from scheduling.services.week import require
from scheduling.services.weekresult import base_of

Json = dict[str, Any]


def accept(
    *,
    proposal: WeekProposal,
    by: User,
    now: datetime,
    pours: Collection[int] | None = None,
    accept_clashes: bool = False,
) -> WeekProposal:
    """Move the pours as proposed: those named, or all that are left.

    Raises
    ------
    OutOfDate
        If a pour of the week was changed, booked or cancelled meanwhile: what, is in its facts. The
        proposal is then out of date for good.
    Refusal
        If there is nothing to take.
    Clashes
        If a pour would clash with something that stays, and `accept_clashes` is not said.
    """
    require(by)
    with transaction.atomic():
        booking.one_at_a_time()
        kept = WeekProposal.objects.select_for_update().get(pk=proposal.pk)
        wanted = _wanted(kept, pours)
        changed = what_changed(kept, office_zone())
        if changed:
            _settle(kept, ProposalState.OUT_OF_DATE, by, now)
        else:
            _take(kept, wanted, by, now, accept_clashes)
    if changed:
        raise OutOfDate(
            f"The week has changed since this was proposed: {'; '.join(told(one) for one in changed)}.",
            code="week_changed",
            facts={"changed": changed},
        )
    return kept


def _wanted(proposal: WeekProposal, pours: Collection[int] | None) -> list[Json]:
    if proposal.state not in HAS_A_WEEK or not proposal.result:
        raise Refusal(f"This proposal is {proposal.get_state_display()}.", code="proposal_state")
    left = [one for one in proposal.result["differences"] if not one["taken"]]
    wanted = left if pours is None else [one for one in left if one["pour"] in pours]
    if not wanted or (pours is not None and len(wanted) < len(set(pours))):
        raise Refusal("Nothing of that is left to take.", code="nothing_to_take", field="pours")
    return wanted


def what_changed(proposal: WeekProposal, zone: ZoneInfo) -> list[Json]:
    """Pours of the week that are no longer as the proposal read them, with what became of each."""
    now_there = base_of(proposal.monday, zone)
    found = []
    for key in sorted(now_there.keys() | proposal.base.keys(), key=int):
        before, after = proposal.base.get(key), now_there.get(key)
        if before != after:
            what = "booked" if before is None else "gone" if after is None else "changed"
            found.append({"pour": int(key), "name": (after or before or ["", "", ""])[2], "what": what})
    return found


def told(change: Json) -> str:
    """One change in words: “Garage slab was changed”."""
    words = {"booked": "was booked", "gone": "is no longer in the week", "changed": "was changed"}
    return f"{change['name']} {words[change['what']]}"


def _take(proposal: WeekProposal, wanted: list[Json], by: User, now: datetime, accept_clashes: bool) -> None:
    crews = Crew.objects.in_bulk([one["to_crew"] for one in wanted])
    pours = Pour.objects.in_bulk([one["pour"] for one in wanted])
    changes = [
        booking.Change(
            pour=pours[one["pour"]],
            version=proposal.base[str(one["pour"])][0],
            fields={"starts_at": datetime.fromisoformat(one["to_at"]), "crew": crews[one["to_crew"]]},
        )
        for one in wanted
    ]
    taken = booking.change_together(changes=changes, by=by, now=now, accept_clashes=accept_clashes)
    for one in wanted:
        one["taken"] = True
    for pour in taken:
        proposal.base[str(pour.pk)][0] = pour.version
    differences = proposal.result["differences"] if proposal.result else []
    whole = all(one["taken"] for one in differences)
    _settle(proposal, ProposalState.ACCEPTED if whole else ProposalState(proposal.state), by, now)


def _settle(proposal: WeekProposal, state: ProposalState, by: User, now: datetime) -> None:
    proposal.state, proposal.settled_by, proposal.settled_at = state, by, now
    proposal.save(update_fields=["state", "settled_by", "settled_at", "base", "result"])

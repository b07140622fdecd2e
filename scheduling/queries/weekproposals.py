"""The better week that was asked for last, for a page."""

from collections.abc import Iterable
from datetime import date

from scheduling.models import Pour, User, WeekProposal
from scheduling.queries.visible import pours_for


def newest_proposal(monday: date) -> WeekProposal | None:
    """The last that was asked for of that week."""
    return WeekProposal.objects.filter(monday=monday).select_related("lost_site", "settled_by").first()


def pours_in(proposal: WeekProposal, user: User, seen: Iterable[Pour]) -> dict[int, Pour]:
    """Those seen, and what else a proposal speaks of as far as this person may see it, with their sites."""
    known = {pour.pk: pour for pour in seen}
    result = proposal.result or {}
    told = [one["pour"] for part in ("differences", "left_out", "week") for one in result.get(part, ())]
    return known | pours_for(user).in_bulk(set(told) - known.keys())

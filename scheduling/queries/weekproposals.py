"""The better week that was asked for last, for a page."""

from datetime import date

from scheduling.models import Pour, User, WeekProposal
from scheduling.queries.visible import pours_for


def newest_proposal(monday: date) -> WeekProposal | None:
    """The last that was asked for of that week."""
    return WeekProposal.objects.filter(monday=monday).select_related("lost_site", "settled_by").first()


def pours_in(proposal: WeekProposal, user: User) -> dict[int, Pour]:
    """The pours a proposal speaks of, with their sites, as far as this person may see them."""
    result = proposal.result or {}
    told = [one["pour"] for part in ("differences", "left_out", "week") for one in result.get(part, ())]
    return pours_for(user).in_bulk(told)

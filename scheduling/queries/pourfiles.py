"""The pours of an export."""

from datetime import UTC, date, datetime, time, timedelta

from scheduling.models import Pour, PourState, User
from scheduling.queries.visible import pours_for
from scheduling.queries.week import local_day

DAY = timedelta(days=1)


def pours_between(person: User, first: date, last: date) -> list[Pour]:
    """The pours a person may see from one day to another, both whole and by each site's own calendar.

    Cancelled ones are not among them.
    """
    start, end = (datetime.combine(day, time(), UTC) for day in (first - DAY, last + 2 * DAY))
    pours = (
        pours_for(person)
        .filter(starts_at__gte=start, starts_at__lt=end)
        .exclude(state=PourState.CANCELLED)
        .defer("plan__inputs", "plan__result")
        .prefetch_related("sections__edges", "sections__openings")
        .order_by("starts_at", "id")
    )
    return [pour for pour in pours if first <= local_day(pour) <= last]

"""Who of a crew is not used to the heat yet: for those who send people out, and for nobody they work with."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from scheduling.engine.acclimatisation import heat_share
from scheduling.models import Pour, User, Worker
from scheduling.queries.week import local_day
from scheduling.roles import Right

HEAT = "heat_illness"


@dataclass(frozen=True)
class HeatStart:
    """Somebody in their first days of heat: which day it is, and how much of a usual day they may do."""

    name: str
    day: int
    share: float
    returning: bool


def heat_starts(pour: Pour, asked_by: User) -> tuple[HeatStart, ...]:
    """Those of the pour's crew who are new to the heat on its day, where its plan warns of heat.

    Empty for whoever may not see such a thing of the people they work with.
    """
    if not asked_by.may(Right.SEE_HEAT) or pour.crew is None or not _is_hot(pour):
        return ()
    new = pour.crew.workers.filter(active=True, heat_from_on__isnull=False).order_by("name", "id")
    return tuple(_starts(new, local_day(pour)))


def _is_hot(pour: Pour) -> bool:
    return pour.plan is not None and any(f["code"] == HEAT for f in pour.plan.result["findings"])


def _starts(workers: Iterable[Worker], day: date) -> Iterator[HeatStart]:
    for worker in workers:
        # A first day still ahead, or one that begins that day, is the first.
        number = max(1, (day - worker.heat_from_on).days + 1) if worker.heat_from_on else 1
        share = heat_share(number, returning=worker.heat_before)
        if share < 1:
            yield HeatStart(worker.name, number, share, worker.heat_before)

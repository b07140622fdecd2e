"""Where a pour's saw comes from, when other slabs want the same one."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db.models import F

from scheduling.engine.inputs import PhaseKind, SawType
from scheduling.engine.sawshare import SawJob, SawTurn, share_saws
from scheduling.models import EquipmentKind, EquipmentUnit, PlanPhase, Pour, PourState

AROUND = timedelta(hours=36)  # cuts farther away than a window and a day share no saw
KINDS = {
    SawType.CONVENTIONAL: EquipmentKind.SAW,
    SawType.EARLY_ENTRY: EquipmentKind.EARLY_ENTRY_SAW,
}


@dataclass(frozen=True)
class SharedSaw:
    """A saw that comes late from another slab; `late` where it cannot cut all by the last call."""

    comes_from: Pour
    starts_at: datetime
    last_call_at: datetime
    late: bool


def shared_saw(pour: Pour) -> SharedSaw | None:
    """How the saw reaches this pour; None where it need not wait for one, or where no saws are kept."""
    saws = EquipmentUnit.objects.filter(kind=KINDS[SawType(pour.saw)], in_service=True).count()
    jobs = _cuts(pour) if saws else {}
    own = jobs.get(str(pour.pk))
    if own is None:
        return None
    turn = next(turn for turn in share_saws(list(jobs.values()), saws) if turn.pour == own.pour)
    return _seen(turn, own)


def _cuts(pour: Pour) -> dict[str, SawJob]:
    """What is cut around the time of this pour with the same kind of saw, this pour's own among it."""
    around = PlanPhase.objects.filter(
        kind=PhaseKind.CUT,
        plan=F("plan__pour__plan"),
        plan__pour__state__in=(PourState.BOOKED, PourState.PLACED),
        plan__pour__saw=pour.saw,
        starts_at__gt=pour.starts_at - AROUND,
        starts_at__lt=pour.starts_at + 2 * AROUND,
    )
    rows = around.annotate(saw=F("plan__result__sawing")).values_list("plan__pour_id", "saw")
    return {str(pk): _job(str(pk), saw) for pk, saw in rows}


def _job(pour: str, saw: dict[str, Any]) -> SawJob:
    opens_at, done_at, last_call_at = (
        datetime.fromisoformat(saw[name]) for name in ("opens_at", "ends_at", "last_call_at")
    )
    return SawJob(pour, opens_at, done_at, last_call_at, saw["hours_needed"])


def _seen(turn: SawTurn, job: SawJob) -> SharedSaw | None:
    if turn.after is None or turn.starts_at == job.opens_at:
        return None
    before = Pour.objects.select_related("job__site", "crew").get(pk=turn.after)
    return SharedSaw(before, turn.starts_at, job.last_call_at, turn.late)

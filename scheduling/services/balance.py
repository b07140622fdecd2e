"""The balance load: asked for by what was measured, and never on the quiet.

Nothing is sent to a plant: that a load was asked for, is loading or gone is noted by whoever phoned.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from scheduling import bridge
from scheduling.engine.balance import Balance, balance_by_measure
from scheduling.engine.dayplan import PourPlan
from scheduling.engine.inputs import PourRequest
from scheduling.errors import Refusal
from scheduling.models import BALANCE_NOTES, WITH_VOLUME, NoteKind, Plan, Pour, SiteNote
from scheduling.queries import sitenotes
from scheduling.services import briefing
from scheduling.services.slabnow import run_of

TWICE = 2.0  # more than so many times what was measured is asked about (our choice)

# What may come after what; a load that is loading is paid for, so only one still asked for is cancelled.
MAY_FOLLOW: dict[str | None, tuple[NoteKind, ...]] = {
    None: (NoteKind.BALANCE_ASKED,),
    NoteKind.BALANCE_CANCELLED: (NoteKind.BALANCE_ASKED,),
    NoteKind.BALANCE_GONE: (NoteKind.BALANCE_ASKED,),
    NoteKind.BALANCE_ASKED: (NoteKind.BALANCE_LOADING, NoteKind.BALANCE_GONE, NoteKind.BALANCE_CANCELLED),
    NoteKind.BALANCE_LOADING: (NoteKind.BALANCE_GONE,),
}

MEASURE_WITH_LEFT = 3  # NRMCA CIP 8: while the last two or three trucks can be changed
CALLED = (NoteKind.BALANCE_ASKED, NoteKind.BALANCE_LOADING, NoteKind.BALANCE_GONE)


@dataclass(frozen=True, slots=True, kw_only=True)
class BalanceStand:
    """How it stands with what is left to place.

    `need` is what the last measure makes of it. `step` is the last note on the balance load, `asked_m3`
    what it was asked to bring. `is_short` is whether somebody should call the plant now.
    """

    measured_at: datetime | None
    need: Balance | None
    step: NoteKind | None
    asked_m3: float | None
    is_short: bool


def balance_of(*, pour: Pour, plan: Plan, notes: Sequence[SiteNote], now: datetime) -> BalanceStand | None:
    """How it stands by what was noted; None where nothing was measured and no balance load asked for."""
    steps = [note for note in notes if note.kind in BALANCE_NOTES]
    measured = next((note for note in reversed(notes) if note.kind == NoteKind.MEASURED), None)
    if not steps and measured is None:
        return None
    step = NoteKind(steps[-1].kind) if steps else None
    asked = next((note for note in reversed(steps) if note.m3 is not None), None)
    asked_m3 = asked.m3 if asked and step in CALLED else None
    need = _need(pour, plan, notes, measured, _called_m3(plan, steps, asked_m3, measured), now)
    is_asked = measured is not None and asked_m3 is not None and steps[-1].happened_at >= measured.happened_at
    return BalanceStand(
        measured_at=measured.happened_at if measured else None,
        need=need,
        step=step,
        asked_m3=asked_m3,
        is_short=need is not None and need.order_m3 > 0 and not is_asked,
    )


def loads_to_measure_with(loads: Iterable[Mapping[str, Any]], notes: Iterable[SiteNote]) -> int:
    """How many loads are left where that is few enough to measure, and nobody has; else none."""
    left = sum(load["stand"] != "empty" for load in loads)
    measured = any(note.kind == NoteKind.MEASURED for note in notes)
    return left if left <= MEASURE_WITH_LEFT and not measured else 0


def _called_m3(
    plan: Plan, steps: Sequence[SiteNote], asked_m3: float | None, measured: SiteNote | None
) -> float:
    """What was called before the measure and cannot have been here by then."""
    if measured is None or asked_m3 is None or steps[-1].happened_at >= measured.happened_at:
        return 0.0
    last, haul = steps[-1], timedelta(minutes=plan.inputs["supply"]["haul_min"])
    is_here = last.kind == NoteKind.BALANCE_GONE and last.happened_at + haul <= measured.happened_at
    return 0.0 if is_here else asked_m3


def _need(
    pour: Pour,
    plan: Plan,
    notes: Sequence[SiteNote],
    measured: SiteNote | None,
    called_m3: float,
    now: datetime,
) -> Balance | None:
    if measured is None or measured.m3 is None:
        return None
    answer: PourPlan = briefing.kept_answer(plan)
    asked = bridge.from_json(plan.inputs, PourRequest)
    run = run_of(pour, list(notes), now)
    return balance_by_measure(measured.m3, measured.happened_at, asked, answer, run, now, called_m3)


def check(*, pour: Pour, kind: NoteKind, m3: float | None, confirmed: bool) -> None:
    """See that a note on what is left, or on the balance load, can be so.

    Raises
    ------
    Refusal
        Without an amount where one belongs, with one where none does; a balance load out of turn; one over
        twice what was measured that nobody has said yes to a second time.
    """
    if (m3 is not None) != (kind in WITH_VOLUME) or (m3 is not None and m3 < 0):
        raise Refusal("Say how much concrete.", code="amount_needed", field="m3")
    if kind in BALANCE_NOTES:
        _check_turn(pour, kind)
    if kind == NoteKind.BALANCE_ASKED and m3 is not None:
        _check_amount(pour, m3, confirmed=confirmed)


def _check_turn(pour: Pour, kind: NoteKind) -> None:
    stand = sitenotes.balance_stand(pour)
    if kind in MAY_FOLLOW[stand]:
        return
    if kind == NoteKind.BALANCE_CANCELLED and stand in (NoteKind.BALANCE_LOADING, NoteKind.BALANCE_GONE):
        raise Refusal(
            "The balance load is loading already: it is ours.", code="too_late_to_cancel", field="kind"
        )
    raise Refusal("The balance load has not got so far.", code="balance_out_of_turn", field="kind")


def _check_amount(pour: Pour, m3: float, *, confirmed: bool) -> None:
    if m3 <= 0:
        raise Refusal("Say how much concrete.", code="amount_needed", field="m3")
    measured = sitenotes.last_measured(pour)
    if confirmed or (measured is not None and measured.m3 is not None and m3 <= TWICE * measured.m3):
        return
    message = (
        "That is more than twice what was measured. Say yes once more if it is meant."
        if measured
        else "Nobody has measured what is left. Measure, or say yes once more."
    )
    raise Refusal(message, code="confirm_balance", field="confirmed")

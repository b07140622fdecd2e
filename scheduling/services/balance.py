"""The balance load: asked for by what was measured, and never on the quiet.

Nothing is sent to a plant: that a load was asked for, is loading or gone is noted by whoever phoned.
"""

from scheduling.errors import Refusal
from scheduling.models import BALANCE_NOTES, WITH_VOLUME, NoteKind, Pour
from scheduling.queries import sitenotes

TWICE = 2.0  # more than so many times what was measured is asked about (our choice)

# What may come after what; a load that is loading is paid for, so only one still asked for is cancelled.
MAY_FOLLOW: dict[str | None, tuple[NoteKind, ...]] = {
    None: (NoteKind.BALANCE_ASKED,),
    NoteKind.BALANCE_CANCELLED: (NoteKind.BALANCE_ASKED,),
    NoteKind.BALANCE_GONE: (NoteKind.BALANCE_ASKED,),
    NoteKind.BALANCE_ASKED: (NoteKind.BALANCE_LOADING, NoteKind.BALANCE_GONE, NoteKind.BALANCE_CANCELLED),
    NoteKind.BALANCE_LOADING: (NoteKind.BALANCE_GONE,),
}


def check(*, pour: Pour, kind: NoteKind, m3: float | None, strip: int | None, confirmed: bool) -> None:
    """See that a note on what is left, or on the balance load, can be so.

    Raises
    ------
    Refusal
        Without an amount where one belongs, with one where none does; a balance load out of turn; one over
        twice what was measured that nobody has said yes to a second time.
    """
    if (m3 is not None) != (kind in WITH_VOLUME) or (m3 is not None and m3 < 0):
        raise Refusal("Say how much concrete.", code="amount_needed", field="m3")
    if strip is not None and kind != NoteKind.READY_TO_FINISH:
        raise Refusal("A strip is noted when it is ready to finish.", code="not_here", field="strip")
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

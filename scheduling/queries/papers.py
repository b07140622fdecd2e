"""What of a pour is still to be looked at."""

from scheduling.models import Pour, PourState


def open_papers(pour: Pour) -> list[str]:
    """The kinds of what must be released before concrete may come, and is not yet."""
    return [paper.kind for paper in pour.papers.all() if paper.is_open]


def is_held(pour: Pour) -> bool:
    """Whether nobody may go yet: it is on hold, or booked with something that is not released."""
    return state_told(pour) == PourState.ON_HOLD


def state_told(pour: Pour) -> PourState:
    """How people are told that it stands: booked with something not released is as good as on hold."""
    held = pour.state == PourState.BOOKED and bool(open_papers(pour))
    return PourState.ON_HOLD if held else PourState(pour.state)

"""Words to dispatch about people and their texts, and what people are answered when they text."""

from scheduling.texting.clock import clock
from scheduling.texting.segments import to_gsm
from scheduling.texting.wording import PourFacts, clip

BEGINNING_LENGTH = 60
SAID_LENGTH = 200


def lost_text(reason: str, body: str) -> str:
    """A text will never arrive: why, and how it begins."""
    return to_gsm(f"NOT TEXTED: {reason}. It said: {clip(body, BEGINNING_LENGTH)}")


def no_text(who: str, phone: str, body: str) -> str:
    """Somebody answered no to an assignment."""
    return to_gsm(f"{who} ({phone}) answered NO to: {clip(body, BEGINNING_LENGTH)}")


def late_text(who: str, phone: str, minutes: int | None, body: str) -> str:
    """Somebody runs late, by so many minutes where they said."""
    how_late = f"{minutes} min late" if minutes else f'late: "{clip(body, SAID_LENGTH)}"'
    return to_gsm(f"{who} ({phone}) runs {how_late}")


def unclear_text(who: str, phone: str, body: str) -> str:
    """Somebody texted what only a person can read."""
    return to_gsm(f'{who} ({phone}) texted: "{clip(body, SAID_LENGTH)}"')


def unanswered_text(who: str, phone: str, pour: PourFacts, why: str) -> str:
    """The lead has not said yes to the morning text, and the crew must soon stand on site."""
    return to_gsm(f"{who} ({phone}) {why}. Crew due {clock(pour.call_at)} at {pour.place}. Phone now.")

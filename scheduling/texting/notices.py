"""What a crew lead is told at once when a booking they were told of is held, called off or given back."""

from django.utils.translation import gettext

from scheduling.texting.clock import clock, day_name, the_clock
from scheduling.texting.segments import to_gsm
from scheduling.texting.wording import PourFacts, clip, trucks, where

REASON_LENGTH = 60


def hold_text(pour: PourFacts, reason: str) -> str:
    """The pour waits: nobody goes until the office says so."""
    words = gettext("ON HOLD {when}: {where}. Do not go, wait for the office. {reason}")
    return _stopped(words, pour, reason)


def call_off_text(pour: PourFacts, reason: str) -> str:
    """The pour does not take place."""
    words = gettext("CALLED OFF {when}: {where}. Do not go. {reason}")
    return _stopped(words, pour, reason)


def other_crew_text(pour: PourFacts) -> str:
    """The pour takes place without the reader's crew."""
    return _stopped(gettext("{when}, {where}: another crew goes now. Do not go. {reason}"), pour, "")


def _stopped(words: str, pour: PourFacts, reason: str) -> str:
    when = f"{day_name(pour.starts_at)} {clock(pour.starts_at)}"
    said = clip(reason, REASON_LENGTH)
    return to_gsm(words.format(when=when, where=where(pour), reason=said).rstrip())


def back_on_text(pour: PourFacts) -> str:
    """The pour the reader was told not to go to takes place after all."""
    return _going(gettext("BACK ON {day}: {where}. Be there {the_clock}. {trucks}"), pour)


def added_text(pour: PourFacts) -> str:
    """The reader's day has a pour more than their morning text said."""
    return _going(gettext("ADDED {day}: {where}. Be there {the_clock}. {trucks}"), pour)


def _going(words: str, pour: PourFacts) -> str:
    return to_gsm(
        words.format(
            day=day_name(pour.starts_at),
            where=where(pour),
            the_clock=the_clock(pour.call_at, pour.starts_at),
            trucks=trucks(pour),
        )
    )

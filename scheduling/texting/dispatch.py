"""Words to dispatch about people and their texts, and what people are answered when they text."""

from django.utils.translation import gettext

from scheduling.texting.clock import day_name, the_clock
from scheduling.texting.segments import to_gsm
from scheduling.texting.wording import PourFacts, clip

BEGINNING_LENGTH = 60
SAID_LENGTH = 200


def lost_text(reason: str, body: str) -> str:
    """A text will never arrive: why, and how it begins."""
    words = gettext("NOT TEXTED: {reason}. It said: {said}")
    return to_gsm(words.format(reason=reason, said=clip(body, BEGINNING_LENGTH)))


def no_text(who: str, phone: str, body: str) -> str:
    """Somebody answered no to an assignment."""
    words = gettext("{who} ({phone}) answered NO to: {said}")
    return to_gsm(words.format(who=who, phone=phone, said=clip(body, BEGINNING_LENGTH)))


def late_text(who: str, phone: str, minutes: int | None, body: str) -> str:
    """Somebody runs late, by so many minutes where they said."""
    words = (
        gettext("{who} ({phone}) runs {minutes} min late")
        if minutes
        else gettext('{who} ({phone}) runs late: "{said}"')
    )
    said = clip(body, SAID_LENGTH)
    return to_gsm(words.format(who=who, phone=phone, minutes=minutes, said=said))


def day_link_text(pour: PourFacts, link: str) -> str:
    """To a lead who asked for another link to the day."""
    words = gettext("{place}, {day}: your page for that day. The one you had no longer opens. {link}")
    return to_gsm(words.format(place=pour.place, day=day_name(pour.starts_at), link=link))


def unclear_text(who: str, phone: str, body: str) -> str:
    """Somebody texted what only a person can read."""
    words = gettext('{who} ({phone}) texted: "{said}"')
    return to_gsm(words.format(who=who, phone=phone, said=clip(body, SAID_LENGTH)))


def unanswered_text(who: str, phone: str, pour: PourFacts, *, reached: bool, reason: str = "") -> str:
    """The lead has not said yes to the morning text, and the crew must soon stand on site."""
    why = gettext("has not answered the morning text") if reached else gettext("got no morning text")
    words = gettext("{who} ({phone}) {why}. Crew due {the_clock} at {place}. Phone now.")
    due, why = the_clock(pour.call_at), f"{why} ({reason})" if reason else why
    return to_gsm(words.format(who=who, phone=phone, why=why, place=pour.place, the_clock=due))

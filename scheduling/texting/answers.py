"""What people are texted back at once, in their own language, one segment each."""

from collections.abc import Callable

from django.utils import translation
from django.utils.translation import gettext

from scheduling.texting.segments import to_gsm

# By name; said when asked for, in the language then in force.
ANSWERS: dict[str, Callable[[], str]] = {
    "stop": lambda: gettext("{company}: you get no more texts from us. Reply START to get them again."),
    "start": lambda: gettext("{company}: you get our texts again. Reply STOP to end them, HELP for help."),
    "help": lambda: gettext(
        "{company} job texts. Reply YES or NO to an assignment, LATE 20, DONE, RAVELS. "
        "STOP ends texts. Msg&data rates may apply."
    ),
    "passed_on": lambda: gettext("Passed on to dispatch."),
    "how_to_stop": lambda: gettext("Passed on to dispatch. To end our texts reply with the one word STOP."),
    "try_again": lambda: gettext("OK. Try the cut again in {minutes} min."),
}


def answer(what: str, language: str, company: str = "", minutes: int = 0) -> str:
    """The answer of that name, in that language."""
    with translation.override(language):
        return to_gsm(ANSWERS[what]().format(company=company, minutes=minutes))

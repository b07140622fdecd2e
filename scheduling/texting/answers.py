"""What people are texted back at once, in their own language, one segment each."""

from scheduling.texting.segments import to_gsm

ANSWERS: dict[str, dict[str, str]] = {
    "en": {
        "stop": "{company}: you get no more texts from us. Reply START to get them again.",
        "start": "{company}: you get our texts again. Reply STOP to end them, HELP for help.",
        "help": (
            "{company} job texts. Reply YES or NO to an assignment, LATE 20, DONE, RAVELS. "
            "STOP ends texts. Msg&data rates may apply."
        ),
        "passed_on": "Passed on to dispatch.",
        "how_to_stop": "Passed on to dispatch. To end our texts reply with the one word STOP.",
        "try_again": "OK. Try the cut again in {minutes} min.",
    },
    "es": {
        "stop": "{company}: ya no recibe mensajes nuestros. Responda START para recibirlos otra vez.",
        "start": "{company}: recibe de nuevo nuestros mensajes. STOP para terminar, AYUDA para ayuda.",
        "help": (
            "Mensajes de trabajo de {company}. Responda SI o NO a una asignación, TARDE 20, LISTO, "
            "SE DESMORONA. STOP para terminar."
        ),
        "passed_on": "Avisado al despacho.",
        "how_to_stop": "Avisado al despacho. Para terminar los mensajes responda solo STOP.",
        "try_again": "OK. Pruebe el corte otra vez en {minutes} min.",
    },
}


def answer(what: str, language: str, company: str) -> str:
    """The answer of that name."""
    return to_gsm(ANSWERS[language][what].format(company=company))


def try_again(language: str, minutes: int) -> str:
    """The cut ravelled: when to try again."""
    return to_gsm(ANSWERS[language]["try_again"].format(minutes=minutes))

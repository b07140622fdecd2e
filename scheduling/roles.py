"""Who may do what: the one table of rights, read by pages, API and services alike."""

from enum import StrEnum


class Role(StrEnum):
    OFFICE = "office"
    DISPATCHER = "dispatcher"
    CREW_LEAD = "crew_lead"


class Right(StrEnum):
    SEE_WEEK = "see_week"
    SEE_ALL_POURS = "see_all_pours"  # without it: only the pours of the crew one leads
    BOOK = "book"  # book, change, move and cancel pours; jobs and sites
    ASSIGN = "assign"  # choose crews and accept clashes
    ORDER = "order"  # place, confirm and revise orders with the plant
    KEEP_COMPANY = "keep_company"  # crews, people, equipment, plants, mixes
    SEE_MESSAGES = "see_messages"
    ANSWER_TEXTS = "answer_texts"  # say what became of a text nobody knows of, mark replies as read
    SEE_HEAT = "see_heat"  # who is new to the heat: nobody's business among those who work with them
    IMPORT_WEATHER = "import_weather"
    NOTE_DAY = "note_day"  # note what happens on site, of the pours one may see


RIGHTS: dict[Role, frozenset[Right]] = {
    Role.OFFICE: frozenset(Right),
    Role.DISPATCHER: frozenset(Right) - {Right.KEEP_COMPANY},
    Role.CREW_LEAD: frozenset({Right.SEE_WEEK, Right.NOTE_DAY}),
}


def allows(role: str, right: Right) -> bool:
    """Whether the role holds the right; an unknown role holds none."""
    return role in RIGHTS and right in RIGHTS[Role(role)]

"""Texts before they are sent: how they would read now, how long they are, and what makes them dear."""

from dataclasses import dataclass
from datetime import date

from scheduling.models import User
from scheduling.roles import Right, Role
from scheduling.services import morning
from scheduling.texting.segments import Measure, measure


@dataclass(frozen=True)
class Draft:
    """A morning text as it would be written now."""

    reader: User
    body: str
    length: Measure


def length_of(body: str) -> Measure:
    """What sending the text takes."""
    return measure(body)


def morning_drafts(*, day: date, by: User) -> list[Draft]:
    """The texts of that day for every lead, or for a lead their own."""
    leads = User.objects.filter(role=Role.CREW_LEAD, is_active=True).order_by("crew_led__name", "pk")
    seen = leads if by.may(Right.SEE_MESSAGES) else leads.filter(pk=by.pk)
    bodies = morning.compose_all(leads=seen, day=day)
    return [Draft(lead, bodies[lead.pk], measure(bodies[lead.pk])) for lead in seen if lead.pk in bodies]

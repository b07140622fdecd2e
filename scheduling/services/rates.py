"""What a crew's own pours say of its rate, put into the next plan; and beginning anew."""

from datetime import datetime

from django.db import transaction

from scheduling.engine.inputs import Method
from scheduling.engine.learning import Learned
from scheduling.errors import NotAllowed, Refusal
from scheduling.models import Crew, Pour, RateReset, User
from scheduling.queries import rates
from scheduling.roles import Right


def learned_for(pour: Pour, now: datetime) -> Learned | None:
    """What is learned of the pour's crew by its method; None where nobody is assigned or nothing is known."""
    if pour.crew is None or pour.crew.pk is None:
        return None
    return rates.learned_of(pour.crew, Method(pour.method), now)


@transaction.atomic
def reset(*, crew: Crew, method: str, by: User, now: datetime) -> RateReset:
    """Forget what was learned of the crew by that method: only pours from now on count.

    Raises
    ------
    NotAllowed
        For those who assign no crews.
    Refusal
        For a method there is not.
    """
    if not by.may(Right.ASSIGN):
        raise NotAllowed("Your role does not include this.", code="not_allowed")
    if method not in [one.value for one in Method]:
        raise Refusal("There is no such way of placing.", code="not_found", field="method")
    return RateReset.objects.create(crew=crew, method=method, by=by, at=now)

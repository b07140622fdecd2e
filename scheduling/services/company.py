"""Changing what the company has settled for itself."""

from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from scheduling.errors import NotAllowed, OutOfDate, Refusal
from scheduling.models import Company, User
from scheduling.roles import Right
from scheduling.services.booking import one_at_a_time


@transaction.atomic
def change_company(*, version: int, by: User, **fields: Any) -> Company:
    """Change settings; the caller names the version it read. What is planned already stays as it is.

    Raises
    ------
    OutOfDate
        If somebody changed them since.
    Refusal
        If they make no sense, or there is no company yet.
    """
    if not by.may(Right.KEEP_COMPANY):
        raise NotAllowed("Your role does not include this.", code="not_allowed")
    company = one_at_a_time()
    if company.version != version:
        raise OutOfDate(
            "Somebody changed the settings since you read them.",
            code="out_of_date",
            field="version",
            facts={"version": company.version},
        )
    for name, value in fields.items():
        setattr(company, name, value)
    company.version += 1
    _refuse_nonsense(company)
    company.save()
    return company


def _refuse_nonsense(company: Company) -> None:
    try:
        company.full_clean()
    except ValidationError as wrong:
        field, messages = next(iter(wrong.message_dict.items()))
        raise Refusal(messages[0], code="invalid", field="" if field == "__all__" else field) from wrong

"""What people choose for themselves."""

from scheduling.errors import NotAllowed, Refusal
from scheduling.models import Language, User
from scheduling.roles import Right


def choose_language(*, person: User, language: str, by: User) -> None:
    """Have the person's texts written in that language from now on: they say so, or the office for them.

    Raises
    ------
    NotAllowed
        If it is neither them nor the office who asks.
    Refusal
        If texts are not written in that language.
    """
    if by != person and not by.may(Right.KEEP_COMPANY):
        raise NotAllowed("Your role does not include this.", code="not_allowed")
    if language not in Language.values:
        known = ", ".join(str(one.label) for one in Language)
        raise Refusal(f"Texts are written in: {known}.", code="invalid_choice", field="language")
    User.objects.filter(pk=person.pk).update(language=language)
    person.language = language

"""A rate that becomes many times what it was is asked about: it may be a day's where an hour's was meant."""

from scheduling.errors import Refusal
from scheduling.models import Crew, Plant

# Published rates of one machine lie eight apart where one source says a day and the other an hour; crews and
# plants of a trade lie within this (our choice).
MOST_FACTOR = 4.0


def require_meant(*, row: Crew | Plant, column: str, becomes: float | None) -> None:
    """Refuse a rate more than four times, or less than a quarter of, what the row has; a new one the usual.

    Raises
    ------
    Refusal
        With the factor in its facts.
    """
    was = getattr(row, column)
    if not was or not becomes:
        return
    factor = becomes / was
    if not 1 / MOST_FACTOR <= factor <= MOST_FACTOR:
        told = f"{factor:.3g} times" if factor > 1 else f"one {1 / factor:.3g}th of"
        raise Refusal(
            f"This would be {told} what it was: is it by the hour? Say that it is meant.",
            code="rate_doubtful",
            facts={"was": was, "becomes": becomes},
        )

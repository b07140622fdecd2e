"""How much of a day's work in the heat somebody may take on before their body is used to it."""

from __future__ import annotations

from scheduling.engine.inputs import BadInput

# NIOSH 2016-106, Criteria for a recommended standard: the part of a usual day in the heat on the first days,
# for people new to it, and for those who did such work before and were away from the heat.
NEW_SHARES = (0.2, 0.4, 0.6, 0.8)
RETURNING_SHARES = (0.5, 0.6, 0.8)


def heat_share(day: int, *, returning: bool) -> float:
    """Return the part of a usual day's work in the heat for the `day`-th day of it, 1 and up.

    NIOSH 2016-106: 20 % on the first day and 20 % more each day for people new to the heat; 50, 60, 80 and
    100 % for those who have done such work before and return to it after a week or more.

    Raises
    ------
    BadInput
        For a day before the first.
    """
    if day < 1:
        raise BadInput("day", "out_of_range", "day must be 1 or more.")
    shares = RETURNING_SHARES if returning else NEW_SHARES
    return shares[day - 1] if day <= len(shares) else 1.0

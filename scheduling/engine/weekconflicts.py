"""Everything in a week that breaks a rule, each with who, what, from when to when, and how bad.

Each rule is a sweep or a search in sorted columns, O(n log n) in the number of phases; none compares pairs.
"""

from __future__ import annotations

from datetime import datetime
from itertools import chain

from scheduling.engine.weekbook import WeekBook
from scheduling.engine.weekcolumns import Columns, Conflict
from scheduling.engine.weekrules import RULES, orders


def find_conflicts(book: WeekBook, now: datetime | None = None) -> tuple[Conflict, ...]:
    """Find every rule that a week as booked breaks.

    Parameters
    ----------
    book : WeekBook
    now : datetime, optional
        From when on an order not called by its time is late; None asks nothing of orders.

    Returns
    -------
    tuple of Conflict
        By start, code and who, whatever the order of the work.

    Notes
    -----
    All stretches are half-open. That people of an unnamed crew rest and do not work too long is only
    said where it is certain, however the crew shares its work out.
    """
    columns = Columns(book)
    found = chain.from_iterable(rule(columns) for rule in RULES)
    late = orders(columns, now) if now is not None else ()
    return tuple(sorted(chain(found, late), key=lambda one: (one.starts_at, one.code, one.who, one.pours)))

"""A week as arrays of whole numbers: what its pours ask for, and how it stands.

What is compiled of `weekshuffle` is kept until that file changes: whoever changes the order of the fields
here clears the folder of compiled code.
"""

from __future__ import annotations

from typing import NamedTuple, TypeAlias

import numpy as np
import numpy.typing as npt

Ints: TypeAlias = npt.NDArray[np.int64]
Floats: TypeAlias = npt.NDArray[np.float64]
Flags: TypeAlias = npt.NDArray[np.bool_]


class Asks(NamedTuple):
    """What the pours ask for. Pour n has the rows of `options` from `option_of[n]` up to `option_of[n + 1]`.

    Crews, pools and plants are numbered through in one; a level is so much of one of them, with how many
    slots its way to its next use takes. Options, crews and plants stand the cheapest first; `cheap` is how
    many options are a pour's cheapest quarter; `least` what a pour costs were it alone in the week.
    """

    options: Ints  # (options, 8)
    option_of: Ints
    crews: Ints  # (pairs, 5): which, its cost, the level that each phase asks
    crew_of: Ints
    plants: Ints  # (pairs, 2): the level asked, its cost
    plant_of: Ints
    needs: Ints  # (needs, 2): phase, level
    need_of: Ints
    levels: Ints  # (levels, 4)
    level_of: Ints
    site: Ints
    serves: Flags  # (pours, crews)
    cheap: Ints
    least: Ints
    legs: Ints  # (sites, sites)
    free: Ints  # pours that may move
    left_out: int


class Stands(NamedTuple):
    """How the week stands: room left by slot, where each pour is and what it costs, who places what.

    `runs` is through how many slots in a row from each one on there is room for a level.
    """

    room: Ints  # (crews, pools and plants, slots)
    runs: Ints  # (levels, slots and a last one without room)
    at: Ints  # (pours, 4): option, row of `crews`, row of `plants`, slot of the cut
    costs: Ints
    of_crew: Ints  # (crews, pours): the first `many[crew]` of a row are the pours that crew places
    many: Ints

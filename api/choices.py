"""The words that columns take, under the names that the API's description knows them by."""

from typing import Any

from django.db.models import Model

from scheduling.models import BALANCE_NOTES, ConsentWay, Plan, PlanPhase, Pour, SiteNote, SlabSection, User
from scheduling.models.plants import ADMIXTURES, COUNTED
from scheduling.models.pours import SIDES
from scheduling.queries.forecasts import Age
from scheduling.services.sheetfile import DELIMITERS, DateOrder

Words = list[tuple[str, str]]


def words_of(model: type[Model], column: str) -> Words:
    """The words a column takes, each with how people read it."""
    field: Any = model._meta.get_field(column)  # noqa: SLF001 (Django documents it)
    return list(field.choices)


ROLE = words_of(User, "role")
SEVERITY = words_of(Plan, "worst")
PHASE_KIND = words_of(PlanPhase, "kind")
METHOD = words_of(Pour, "method")
FINISH = words_of(Pour, "finish")
SCREED = words_of(Pour, "screed")
SIDE: Words = SIDES
COUNT: Words = COUNTED
SAW_TYPE = words_of(Pour, "saw")
REINFORCEMENT = words_of(Pour, "reinforcement")
SHAPE = words_of(SlabSection, "shape")
DEPTH_KIND = words_of(SlabSection, "depth_kind")
ADMIXTURE: Words = ADMIXTURES
NOTE_KIND = words_of(SiteNote, "kind")
BALANCE_STEP: Words = [(kind.value, str(kind.label)) for kind in BALANCE_NOTES]
LOAD_STAND: Words = [(word, word) for word in ("coming", "waiting", "emptying", "empty")]
FORECAST_AGE: Words = [
    (Age.FRESH.value, "as good as it gets"),
    (Age.OLD.value, "over six hours old"),
    (Age.USELESS.value, "over a day old: not planned with"),
]
WEEKDAY = [(day, day) for day in (
    "monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday",
)]  # fmt: skip
# How somebody may tell us that they agree to get texts.
AGREEMENT_WAY = [(way.value, way.label) for way in (ConsentWay.IN_PERSON, ConsentWay.ON_PAPER)]
# What of a sheet of pours cannot be told from it.
CELLS_PARTED_BY = [(name, name) for name in DELIMITERS]
DATE_ORDER = [(order.value, order.value.replace("_", " ")) for order in DateOrder]

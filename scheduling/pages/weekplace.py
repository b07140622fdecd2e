"""Where on the week page somebody is: which week, and what of it they look at; kept from page to page."""

from dataclasses import dataclass
from datetime import MAXYEAR, MINYEAR, date
from urllib.parse import urlencode

from django.http import Http404, HttpRequest, QueryDict
from django.urls import reverse

from scheduling.queries.week import Only

LARGEST = 2**31 - 1


@dataclass(frozen=True)
class Place:
    day: date
    only: Only

    @property
    def kept(self) -> str:
        """What is looked at, to be put behind an address that has a day already."""
        said = urlencode(self._looked_at())
        return f"&{said}" if said else ""

    @property
    def is_part(self) -> bool:
        """Whether something of the week may be out of sight."""
        return bool(self._looked_at())

    def address(self, day: date | None = None, **more: object) -> str:
        """The week of that day, looked at alike."""
        said = {"day": f"{day or self.day:%Y-%m-%d}", **self._looked_at(), **more}
        return f"{reverse('week-of')}?{urlencode(said)}"

    def _looked_at(self) -> dict[str, int]:
        said = {"crew": self.only.crew, "plant": self.only.plant}
        return {name: value for name, value in said.items() if value is not None}


def place_of(request: HttpRequest, today: date, day: date | None = None) -> Place:
    """What the address asks for; the day that is given, where one is."""
    only = Only(_number(request.GET, "crew"), _number(request.GET, "plant"))
    return Place(day or asked_day(request.GET.get("day", ""), today), only)


def _number(said: QueryDict, name: str) -> int | None:
    """The row asked for; what is no number asks for none in particular."""
    word = said.get(name, "")
    return int(word) if word.isdecimal() and int(word[:20]) <= LARGEST else None


def asked_day(said: str, today: date) -> date:
    """The day somebody asks for; a day that is none, or has no week around it, is not there."""
    if not said:
        return today
    try:
        day = date.fromisoformat(said)
    except ValueError as wrong:
        raise Http404 from wrong
    if not MINYEAR < day.year < MAXYEAR:
        raise Http404
    return day

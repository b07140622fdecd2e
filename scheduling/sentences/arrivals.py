"""How the trucks of a pour are asked for, as a plant takes it over the telephone and as a text holds it."""

from dataclasses import dataclass

from django.utils.translation import gettext

_NUMBERS = {2: "two", 3: "three"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrivals:
    """`first_together` at the start, the next after `next_after_min`, then one every `interval_min`."""

    loads: int
    first_together: int = 1
    next_after_min: int = 0
    interval_min: int = 0

    def spoken(self, first_at: str) -> str:
        """``the first two trucks at 7 am, the next 25 minutes later, then one every 20 minutes``."""
        if self.loads == 1:
            return f"the one truck at {first_at}"
        first = f"the first truck at {first_at}"
        if self.first_together > 1:
            many = _NUMBERS.get(self.first_together, str(self.first_together))
            first = f"the first {many} trucks at {first_at}"
        if self._later == 0:
            return f"all {self.loads} trucks at {first_at}"
        if self._later == 1:
            return f"{first} and the last {self.next_after_min} minutes later"
        every = f"then one every {self.interval_min} minutes"
        if self._simple:
            return f"{first}, {every}"
        if self._later == 2:
            every = f"the last {self.interval_min} minutes after that"
        return f"{first}, the next {self.next_after_min} minutes later, {every}"

    def short(self, first_at: str) -> str:
        """``6 loads: 2 at 7 am, next 25 min later, then every 20 min``; in the language spoken just now."""
        return self._short_words().format(
            loads=self.loads,
            first_at=first_at,
            together=self.first_together,
            next_min=self.next_after_min,
            every_min=self.interval_min,
        )

    def _short_words(self) -> str:
        if self.loads == 1:
            return gettext("1 load at {first_at}")
        if self._later == 0:
            return gettext("{loads} loads together at {first_at}")
        if self.first_together == 1:
            return self._one_by_one()
        if self._later == 1:
            return gettext("{loads} loads: {together} at {first_at}, last {next_min} min later")
        if self._simple:
            return gettext("{loads} loads: {together} at {first_at}, then every {every_min} min")
        if self._later == 2:
            return gettext(
                "{loads} loads: {together} at {first_at}, next {next_min} min later, "
                "last {every_min} min after"
            )
        return gettext(
            "{loads} loads: {together} at {first_at}, next {next_min} min later, then every {every_min} min"
        )

    def _one_by_one(self) -> str:
        if self._later == 1:
            return gettext("{loads} loads from {first_at}, {next_min} min apart")
        if self._simple:
            return gettext("{loads} loads from {first_at}, every {every_min} min")
        if self._later == 2:
            return gettext(
                "{loads} loads: first {first_at}, next {next_min} min later, last {every_min} min after"
            )
        return gettext(
            "{loads} loads: first {first_at}, next {next_min} min later, then every {every_min} min"
        )

    @property
    def _later(self) -> int:
        return self.loads - self.first_together

    @property
    def _simple(self) -> bool:
        return self.next_after_min == self.interval_min

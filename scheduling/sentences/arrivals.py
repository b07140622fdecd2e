"""How the trucks of a pour are asked for, as a plant takes it over the telephone and as a text holds it."""

from dataclasses import dataclass

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
        """``6 loads: 2 at 7 am, next 25 min later, then every 20 min``."""
        if self.loads == 1:
            return f"1 load at {first_at}"
        if self._later == 0:
            return f"{self.loads} loads together at {first_at}"
        if self.first_together == 1 and self._later == 1:
            return f"{self.loads} loads from {first_at}, {self.next_after_min} min apart"
        if self.first_together == 1 and self._simple:
            return f"{self.loads} loads from {first_at}, every {self.interval_min} min"
        together = f"{self.first_together} at" if self.first_together > 1 else "first"
        first = f"{self.loads} loads: {together} {first_at}"
        if self._later == 1:
            return f"{first}, last {self.next_after_min} min later"
        every = f"then every {self.interval_min} min"
        if self._simple:
            return f"{first}, {every}"
        if self._later == 2:
            every = f"last {self.interval_min} min after"
        return f"{first}, next {self.next_after_min} min later, {every}"

    @property
    def _later(self) -> int:
        return self.loads - self.first_together

    @property
    def _simple(self) -> bool:
        return self.next_after_min == self.interval_min

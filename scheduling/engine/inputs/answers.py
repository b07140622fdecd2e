"""How the engine answers, whatever was asked: findings, windows and phases."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from typing import TypeAlias

from scheduling.engine.inputs.checks import BadInput

Fact: TypeAlias = float | int | str | bool | datetime | None


class Severity(StrEnum):
    NOTE = "note"
    CAUTION = "caution"
    STOP = "stop"  # as asked, this cannot be done well: change something first


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing the plan wants to say; the doors word it in the reader's language and units.

    `facts` hold SI values under names that carry their unit; `source` names where the rule is from.
    """

    severity: Severity
    code: str
    facts: Mapping[str, Fact] = field(default_factory=dict)
    source: str = ""


@dataclass(frozen=True, slots=True)
class Window:
    """Half-open: open at `opens_at`, shut at `closes_at`."""

    opens_at: datetime
    closes_at: datetime

    def __post_init__(self) -> None:
        if self.closes_at <= self.opens_at:
            raise BadInput("closes_at", "empty_window", "A window must close after it opens.")


class PhaseKind(StrEnum):
    PLACE = "place"
    FINISH = "finish"
    CUT = "cut"
    CURE = "cure"


@dataclass(frozen=True, slots=True)
class Phase:
    """A stretch of work that keeps `people` busy from `starts_at` up to `ends_at`."""

    kind: PhaseKind
    starts_at: datetime
    ends_at: datetime
    people: int

    def __post_init__(self) -> None:
        if self.ends_at <= self.starts_at:
            raise BadInput("ends_at", "empty_window", "A phase must end after it starts.")

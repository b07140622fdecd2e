"""The parts of a crew lead's day on the phone, ready to be shown."""

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Fact:
    label: str
    words: str
    more: str = ""


@dataclass(frozen=True, slots=True)
class Alert:
    """Something to act on now; `load` may be refused where it stands here."""

    words: str
    stops: bool
    load: int | None = None
    refusal_key: str = ""


@dataclass(frozen=True, slots=True)
class Button:
    """`asks` is a batch time that may (batch) or must (batch_needed) come with it, or words."""

    kind: str
    key: str
    words: str
    load: int | None = None
    asks: str = ""
    people: int | None = None
    strip: int | None = None


@dataclass(frozen=True, slots=True)
class StripRow:
    number: int
    loads: str
    said: tuple[str, ...]
    is_ready: bool
    ready: Button | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Left:
    """What is left to place.

    `order` says what to ask of the plant, and `amount` fills the form with it; empty where nothing is short.
    `may_ask` is whether there is anything to ask yet.
    """

    said: tuple[str, ...] = ()
    order: str = ""
    may_ask: bool = False
    amount: str = ""
    steps: tuple[Button, ...] = ()


@dataclass(frozen=True, slots=True)
class LoadRow:
    number: int
    amount: str
    stand: str
    stand_words: str
    at: str
    age: str
    steps: tuple[Button, ...]
    ticket_read: bool
    ticket_key: str
    slump_key: str
    temperature_key: str
    refusal_key: str


@dataclass(frozen=True, slots=True)
class Noted:
    pk: int
    at: str
    words: str
    may_undo: bool
    has_photo: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PourDay:
    pk: int
    name: str
    address: str
    directions: str
    state: str
    alerts: tuple[Alert, ...] = ()
    facts: tuple[Fact, ...] = ()
    buttons: tuple[Button, ...] = ()
    loads: tuple[LoadRow, ...] = ()
    strips: tuple[StripRow, ...] = ()
    left: Left = field(default_factory=Left)
    noted: tuple[Noted, ...] = ()
    others: tuple[Button, ...] = ()
    cautions: tuple[str, ...] = ()
    brief: tuple[str, ...] = ()
    mix: str = ""
    people: int = 0
    units: Mapping[str, str] = field(default_factory=dict)
    plant_phone: str = ""
    dispatch_phone: str = ""
    keys: Mapping[str, str] = field(default_factory=dict)

    @property
    def is_on(self) -> bool:
        return self.state == ""

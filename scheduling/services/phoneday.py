"""A crew lead's day as the phone shows it: what is wrong, four facts, next buttons, and the rest below."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from functools import cached_property
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.translation import gettext

from scheduling.models import Company, NoteKind, Pour, PourState, SiteNote
from scheduling.quantities import Dimension, UnitSystem, format_quantity
from scheduling.queries import sitenotes
from scheduling.services import balance, briefing, live, outbox, phone, phonealerts, phoneslab, tickets
from scheduling.services.daylinks import Gone
from scheduling.services.phonerows import Alert, Button, Fact, Left, LoadRow, Noted, PourDay, StripRow
from scheduling.texting import phone as words
from scheduling.texting import wording
from scheduling.texting.cautions import Caution, warnings
from scheduling.texting.clock import clock
from scheduling.texting.wording import PourFacts

Json = Mapping[str, Any]

EARLY = timedelta(minutes=20)  # before that a truck is early enough to be asked about (our choice)
BIG_BUTTONS = 3
SOON = timedelta(hours=1)
# What a bare number is read in.
UNITS_TYPED = {
    UnitSystem.US: {"slump": "in", "temperature": "F", "volume": "yd3"},
    UnitSystem.METRIC: {"slump": "mm", "temperature": "C", "volume": "m3"},
}
NOTES_SHOWN = 12
KEYED = ("people_there", "problem", "photo", "measured", "balance_asked")
NEXT_STEP = {
    "coming": NoteKind.TRUCK_ARRIVED,
    "waiting": NoteKind.TRUCK_STARTED,
    "emptying": NoteKind.TRUCK_EMPTY,
}
KEPT = ("ticket", "slump", "temperature", "photo", "measured", "balance_asked")
STEPS = tuple(NEXT_STEP.values())
FIRST = {"emptying": 0, "waiting": 1, "coming": 2}


def pour_day(*, pour: Pour, now: datetime) -> PourDay:
    """The pour as its lead sees it now, in the language spoken just now."""
    return _Day(pour, Company.objects.get(), now).shown()


def page_words() -> dict[str, str]:
    """What stands on the page whatever the day, in the language spoken just now."""
    keeps = {f"keep_{kind}": words.BUTTONS[kind] for kind in KEPT}
    page = {**words.PAGE, **keeps, "refused": words.BUTTONS["refused"]}
    return {name: gettext(said) for name, said in page.items()}


def refusal_words(code: str) -> str:
    """Why something was not noted, for somebody who cannot look it up."""
    return gettext(words.REFUSED.get(code, words.REFUSED_ELSE))


def ended_words(code: str) -> tuple[str, str, str]:
    """That a link opens nothing: what is so, why, and what to do."""
    return gettext(words.ENDED_TITLE), gettext(words.ENDED[code]), gettext(words.ENDED_HELP)


def as_of(pour: Pour, now: datetime) -> str:
    """When the page was as it is, for a phone that shows it later without signal."""
    at = clock(now.astimezone(briefing.site_zone(pour)))
    return gettext(words.PAGE["offline"]).format(clock=at)


def gone_words(gone: Gone) -> str:
    """Where a pour went that this link showed."""
    zone, pour = briefing.site_zone(gone.pour), gone.pour
    starts_at = pour.starts_at.astimezone(zone) if gone.is_other_day else None
    crew = pour.crew.name if pour.crew else ""
    return words.gone(pour.job.site.name, crew, gone.at.astimezone(zone), starts_at)


def starts_words(pour: Pour) -> str:
    """``7am Mill Rd``, to choose a pour of the day by."""
    return f"{clock(pour.starts_at.astimezone(briefing.site_zone(pour)))} {pour.job.site.name}"


def _state(pour: Pour) -> str:
    """Why nothing can be noted, as a sentence; empty where something can."""
    if pour.state == PourState.ON_HOLD:
        return gettext(words.PAGE["on_hold"])
    if pour.state == PourState.CANCELLED:
        return gettext(words.PAGE["cancelled"])
    if not pour.is_standing:
        return gettext(words.REFUSED["not_standing"])
    return gettext(words.PAGE["no_plan"]) if pour.plan is None else ""


class _Day:
    """One pour on the way to its page: everything read once, keys drawn once."""

    def __init__(self, pour: Pour, company: Company, now: datetime) -> None:
        self.pour, self.company, self.now = pour, company, now
        self.zone: ZoneInfo = briefing.site_zone(pour)
        self.units = UnitSystem(company.units)
        self.keys: dict[tuple[str, int | None], str] = {}

    def shown(self) -> PourDay:
        facts, state = self.told, _state(self.pour)
        day: dict[str, Any] = {
            "pk": self.pour.pk,
            "name": facts.place,
            "address": facts.address,
            "directions": facts.directions,
            "state": state,
            "plant_phone": str(self.pour.plant.phone or ""),
            "dispatch_phone": next((str(person.phone) for person in outbox.dispatchers()), ""),
            "noted": tuple(self._noted()),
        }
        return PourDay(**day, **({} if state else self._under_way()))

    def _under_way(self) -> dict[str, Any]:
        return {
            "alerts": tuple(self._alerts()),
            "facts": tuple(self._facts()),
            "buttons": tuple(self._buttons()),
            "loads": tuple(self._load(load) for load in self.run["loads"]),
            "strips": tuple(self._strips()),
            "left": self.left,
            "others": tuple(self._button(kind) for kind in self._other_kinds()),
            "cautions": tuple(warnings(self._cautions(stop=False), self.told.starts_at)),
            "brief": tuple(self._brief()),
            "mix": self.pour.mix.code,
            "people": self.pour.people,
            "units": UNITS_TYPED[self.units],
            "keys": {kind: self._key(kind) for kind in KEYED},
        }

    @cached_property
    def told(self) -> PourFacts:
        return briefing.pour_facts(self.pour, self.company)

    @cached_property
    def notes(self) -> list[SiteNote]:
        return sitenotes.standing_notes(self.pour)

    @cached_property
    def kinds(self) -> frozenset[str]:
        return frozenset(note.kind for note in self.notes)

    @cached_property
    def run(self) -> Json:
        return live.as_it_stands(pour=self.pour, now=self.now)

    @cached_property
    def slab(self) -> Json | None:
        return live.slab_as_it_stands(pour=self.pour, now=self.now)

    @cached_property
    def tickets(self) -> dict[int, SiteNote]:
        return tickets.last_tickets(self.notes)

    def on_site(self, said: str | datetime) -> datetime:
        moment = datetime.fromisoformat(said) if isinstance(said, str) else said
        return moment.astimezone(self.zone)

    def _key(self, kind: str, of: int | None = None) -> str:
        """The same for every button of the page that notes the same, of a load or a strip."""
        return self.keys.setdefault((kind, of), live.new_key())

    # --- what is wrong ------------------------------------------------------------------------

    def _alerts(self) -> Iterator[Alert]:
        for told in warnings(self._cautions(stop=True), self.told.starts_at):
            yield Alert(told, True)
        if self.left.order:
            yield Alert(self.left.order, False)
        loads = balance.loads_to_measure_with(self.run["loads"], self.notes)
        if loads and NoteKind.TRUCK_STARTED in self.kinds:
            yield Alert(words.measure_now(loads), False)
        here = [load for load in self.run["loads"] if load["stand"] == "waiting"]
        for load in here:
            yield from self._ticket_alerts(load["number"])
        early = {number: by for number, by in map(self._early, here) if by >= EARLY}
        old = set()
        for finding in self.run["findings"]:
            number = finding["facts"].get("load")
            if finding["code"] == "load_expires" and number in early:
                alert = self._alert(finding)
                yield replace(alert, words=words.and_early(alert.words, early[number]))
                old.add(number)
            elif finding["code"] != "hold_trucks":
                yield self._alert(finding)
        for number in early.keys() - old:
            told = words.load_early(number, early[number])
            yield Alert(told, False, number, self._key("refused", number))

    def _early(self, load: Json) -> tuple[int, timedelta]:
        number = load["number"]
        return number, self._asked_at(number) - self.on_site(load["arrives_at"])

    def _cautions(self, *, stop: bool) -> Iterator[Caution]:
        return (caution for caution in self.told.cautions if caution.is_stop == stop)

    def _ticket_alerts(self, number: int) -> Iterator[Alert]:
        ticket = self.tickets.get(number)
        for told in phone.mismatch_words(self.pour, ticket) if ticket else ():
            yield Alert(told, True, number, self._key("refused", number))

    def _alert(self, finding: Json) -> Alert:
        facts, code = finding["facts"], finding["code"]
        said = phonealerts.alert_words(finding, self.units, self.zone)
        number = facts.get("load") if code in ("load_expires", "load_age_unknown") else None
        key = self._key("refused", number) if number else ""
        return Alert(said, finding["severity"] == "stop", number, key)

    def _asked_at(self, number: int) -> datetime:
        planned = self.pour.plan.result["delivery"]["loads"][number - 1] if self.pour.plan else {}
        return self.on_site(planned.get("asked_at", planned["arrives_at"]))

    # --- four facts ---------------------------------------------------------------------------

    def _facts(self) -> Iterator[Fact]:
        told, day = self.told, self.told.starts_at
        yield Fact(words.be_there(told.call_at, day), told.address, told.directions)
        yield self._trucks()
        hold = self.run["hold"]
        finish = gettext(words.FINISH[told.surface.value])
        ready, more = words.from_about(told.floats_from_at, day) if told.floats_from_at else "", ""
        cut = wording.cut_span(told)
        if self.slab:
            ready, more = phoneslab.finish_words(self.slab, self.zone, day)
            cut = phoneslab.cut_words(self.slab, self.zone, day)
        if hold:
            facts = {"load": hold["first_load"], "interval_min": hold["interval_min"]}
            asked = words.hold_trucks(facts, self.on_site(hold["arrives_at"]))
            yield Fact(gettext(words.PAGE["ask"]), asked, f"{finish} {ready}")
        else:
            yield Fact(finish, ready, more)
        yield Fact(gettext(words.PAGE["cut"]), cut or gettext(words.PAGE["no_cut"]))

    def _trucks(self) -> Fact:
        loads = self.run["loads"]
        to_come = [load for load in loads if load["stand"] == "coming"]
        label = gettext(words.PAGE["trucks"])
        if not to_come:
            empty = all(load["stand"] == "empty" for load in loads)
            return Fact(label, words.no_truck_to_come(len(loads), empty=empty))
        first = min(to_come, key=lambda load: load["arrives_at"])
        said = words.next_truck(first["number"], self.on_site(first["arrives_at"]), len(to_come))
        return Fact(label, said, wording.trucks(self.told) if len(to_come) == len(loads) else "")

    # --- buttons ------------------------------------------------------------------------------

    def _buttons(self) -> Iterator[Button]:
        """The next sensible ones: what is under way first, then what comes next."""
        going = [load for load in self.run["loads"] if load["stand"] != "empty"]
        going.sort(key=lambda load: (FIRST[load["stand"]], load["arrives_at"], load["number"]))
        coming = [load for load in going if load["stand"] == "coming"]
        offered = [load for load in going if load["stand"] != "coming"][: BIG_BUTTONS - 1] + coming[:1]
        nobody_yet = not self.kinds & {NoteKind.PEOPLE_THERE, *STEPS}
        made = [self._button(NoteKind.PEOPLE_THERE, people=self.pour.people)] if nobody_yet else []
        made += [self._step(load) for load in offered]
        made += self._next_strip()
        made += [self._button(kind) for kind in self._next_kinds(bool(coming))]
        yield from made[:BIG_BUTTONS]

    def _next_strip(self) -> Iterator[Button]:
        """The first strip nobody found ready; once there is none, that finishing is done."""
        waiting = (
            [strip["number"] for strip in self.slab["strips"] if not strip["found_ready"]]
            if self.slab
            else []
        )
        if waiting:
            yield self._button(NoteKind.READY_TO_FINISH, strip=waiting[0])
        elif self.slab and NoteKind.FINISHING_DONE not in self.kinds:
            yield self._button(NoteKind.FINISHING_DONE)

    def _next_kinds(self, more_to_come: bool) -> Iterator[NoteKind]:
        if not more_to_come and self._cut_is_near() and NoteKind.CUT_DONE not in self.kinds:
            yield from (NoteKind.RAVELS, NoteKind.CUT_DONE)
        yield NoteKind.RAIN_OVER if sitenotes.is_raining(self.notes) else NoteKind.RAIN
        yield NoteKind.PROBLEM

    def _cut_is_near(self) -> bool:
        """As soon as somebody may try, or wonders whether to."""
        sawing: Json = self.slab["sawing"] if self.slab else {"starts_at": None}
        return sawing["starts_at"] is not None and self.now >= self.on_site(sawing["opens_at"]) - SOON

    def _other_kinds(self) -> Iterator[NoteKind]:
        yield NoteKind.RAIN
        if sitenotes.is_raining(self.notes):
            yield NoteKind.RAIN_OVER
        if not self.slab:
            yield NoteKind.READY_TO_FINISH
        yield NoteKind.FINISHING_DONE
        if self.told.cut_from_at:
            yield from (NoteKind.RAVELS, NoteKind.CUT_DONE)

    def _step(self, load: Json) -> Button:
        return self._button(NEXT_STEP[load["stand"]], load["number"])

    def _button(
        self, kind: NoteKind, load: int | None = None, people: int | None = None, strip: int | None = None
    ) -> Button:
        said = words.READY_BUTTON if strip else words.BUTTONS[kind]
        asks = "words" if kind == NoteKind.PROBLEM else ""
        if kind == NoteKind.TRUCK_ARRIVED:
            asks = "batch"
        if kind == NoteKind.TRUCK_STARTED and not phone.batched_at(self.notes, load):
            asks = "batch_needed"
        told = gettext(said).format(load=load, people=people, strip=strip)
        return Button(kind.value, self._key(kind.value, load or strip), told, load, asks, people, strip)

    def _strips(self) -> Iterator[StripRow]:
        if self.slab:
            yield from phoneslab.strip_rows(self.slab, self.zone, self.told.starts_at, self._button)

    @cached_property
    def left(self) -> Left:
        stand = live.balance_as_it_stands(pour=self.pour, now=self.now)
        return phoneslab.left_to_place(stand, self.zone, self.units, self.now, self._button)

    def _load(self, load: Json) -> LoadRow:
        number, stand = load["number"], load["stand"]
        at = self.on_site(load["ends_at"] if stand == "empty" else load["arrives_at"])
        steps = STEPS[list(NEXT_STEP).index(stand) :] if stand in NEXT_STEP else ()
        return LoadRow(
            number=number,
            amount=format_quantity(load["m3"], Dimension.VOLUME, self.units),
            stand=stand,
            stand_words=gettext(words.STANDS[stand]),
            at=words.about_clock(at) if stand == "coming" else clock(at),
            age=words.age_words(load["age_min"]) if stand != "coming" else "",
            steps=tuple(self._button(kind, number) for kind in steps),
            ticket_read=number in self.tickets,
            ticket_key=self._key("ticket", number),
            slump_key=self._key("slump", number),
            temperature_key=self._key("temperature", number),
            refusal_key=self._key("refused", number),
        )

    # --- the rest -----------------------------------------------------------------------------

    def _brief(self) -> Iterator[str]:
        told = self.told
        yield f"{told.quantity} {told.mix}, {told.plant}"
        crew = briefing.first_names(self.pour.crew) if self.pour.crew else []
        if crew:
            yield gettext("Crew: {names}.").format(names=", ".join(crew))
        if load := wording.load_line([told]):
            yield gettext("Load: {load}.").format(load=load)

    def _noted(self) -> Iterator[Noted]:
        newest = sorted(self.notes, key=lambda note: (note.noted_at, note.pk), reverse=True)
        for note in newest[:NOTES_SHOWN]:
            said = phone.noted_words(note, self._measured(note))
            if note.batch_at:
                said += f", {clock(self.on_site(note.batch_at))}"
            yield Noted(
                note.pk,
                clock(self.on_site(note.happened_at)),
                f"{said}: {note.words}" if note.words else said,
                self.now - note.noted_at <= live.UNDO_WITHIN,
                bool(note.photo),
            )

    def _measured(self, note: SiteNote) -> str:
        if note.slump_mm is not None:
            return format_quantity(note.slump_mm, Dimension.SLUMP, self.units)
        if note.concrete_c is not None:
            return format_quantity(note.concrete_c, Dimension.TEMPERATURE, self.units)
        if note.m3 is not None:
            return format_quantity(note.m3, Dimension.VOLUME, self.units)
        return ""


def chosen(pours: Sequence[Pour], asked: int | None, now: datetime) -> Pour | None:
    """The pour asked for, or the last that has begun or begins within the hour, or the first."""
    if asked is not None:
        return next((pour for pour in pours if pour.pk == asked), None)
    begun = [pour for pour in pours if pour.is_standing and pour.starts_at <= now + timedelta(hours=1)]
    standing = [pour for pour in pours if pour.is_standing]
    return next(iter(begun[-1:] or standing or pours), None)

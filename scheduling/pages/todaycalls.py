"""Whom to call next today and why: late things first, each with the number to dial."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django import forms
from django.urls import reverse
from phonenumber_field.phonenumber import PhoneNumber

from scheduling.models import Alarm, Message, OrderState, Plant, PlantOrder, Pour, Reply, User
from scheduling.pages.brief import moment, say_to_plant
from scheduling.pages.clashes import pour_name, site_zone
from scheduling.pages.clock import lasting
from scheduling.pages.forms import CalledForm, ConfirmedForm
from scheduling.pages.slabrows import to_order
from scheduling.pages.wording import Words, about
from scheduling.queries.today import SENT, TodayView
from scheduling.services import alarms
from scheduling.services.balance import MEASURE_WITH_LEFT

Json = Mapping[str, Any]

TO_ANSWER = timedelta(minutes=10)  # our choice, as the worker gives it before it tells dispatch
SEVERITIES = ("stop", "caution", "note")
# What the plant is asked; of everything else the people on site are told.
FOR_THE_PLANT = frozenset({"truck_missing", "hold_trucks"})
NO_CONCRETE = frozenset({"truck_missing", "gap_growing", "gap_too_long"})
MOST_OTHER_PLANTS = 2


@dataclass(frozen=True)
class Whom:
    """Somebody to call; `link` is the number as a phone dials it."""

    name: str
    phone: str
    link: str


@dataclass(frozen=True)
class OrderForm:
    """What to note of an order once the plant has been called."""

    id: str
    url: str
    form: forms.Form
    asks: str
    done: str


@dataclass(frozen=True)
class TodayCall:
    """One call to make. What is due is late; the rest says by when."""

    due_at: datetime
    severity: str
    when: str
    words: str
    whom: tuple[Whom, ...] = ()
    say: str = ""
    name: str = ""
    url: str = ""
    order: OrderForm | None = None
    is_live: bool = False  # of a pour under way, which cannot wait for anything else
    seen_url: str = ""  # where somebody says that they see to it
    taken_by: str = ""

    @property
    def rank(self) -> int:
        return SEVERITIES.index(self.severity)


@dataclass(frozen=True)
class CallList:
    """`late` is what is due and nobody's yet, `taken` what somebody sees to."""

    late: tuple[TodayCall, ...]
    taken: tuple[TodayCall, ...]
    coming: tuple[TodayCall, ...]

    @property
    def said(self) -> str:
        """What a title and a screen reader are told of it."""
        if not self.late:
            return "Nothing is late"
        return f"{len(self.late)} thing{'s' if len(self.late) > 1 else ''} to see to now"


def call_list(
    view: TodayView, runs: Mapping[int, Json], raised: Mapping[int, Mapping[str, Alarm]], words: Words
) -> CallList:
    """Everything to call about: what is due by gravity, then what comes by time."""
    calls = [
        *(
            call
            for pour in view.pours
            if pour.pk in runs
            for call in _of_run(pour, runs[pour.pk], raised.get(pour.pk, {}), view, words)
        ),
        *(_of_order(order, view.now, words) for order in view.orders),
        *(_of_text(text, words) for text in view.unanswered),
        *(_of_reply(reply, words) for reply in view.replies),
    ]
    due = sorted((c for c in calls if c.due_at <= view.now), key=lambda c: (c.rank, not c.is_live, c.due_at))
    coming = sorted((c for c in calls if c.due_at > view.now), key=lambda c: (c.due_at, c.rank))
    return CallList(
        tuple(call for call in due if not call.taken_by),
        tuple(call for call in due if call.taken_by),
        tuple(coming),
    )


# --- a pour under way -------------------------------------------------------------------------


def _of_run(
    pour: Pour, run: Json, raised: Mapping[str, Alarm], view: TodayView, words: Words
) -> Iterator[TodayCall]:
    zone = site_zone(pour)
    for finding in run["findings"]:
        to_plant = finding["code"] in FOR_THE_PLANT
        alarm = raised.get(alarms.key_of(finding["code"], finding["facts"]))
        yield TodayCall(
            **(_taking(alarm, view.now) if alarm else {"due_at": view.now, "when": "now"}),
            severity=finding["severity"],
            words=words.finding(finding, zone),
            whom=_plant_and_lead(pour) if to_plant else _plant_and_lead(pour)[::-1],
            say=_other_plants(pour, view.plants) if finding["code"] in NO_CONCRETE else "",
            name=pour_name(pour),
            url=reverse("pour-day", args=[pour.pk]),
            is_live=True,
        )
    yield from _balance(pour, run, view.now, words)
    yield from _left_alone(pour, run, view.now, words)


def _taking(alarm: Alarm, now: datetime) -> dict[str, Any]:
    """Who sees to a trouble, or how long nobody has."""
    if alarm.acknowledged_at:
        return {"due_at": now, "when": "", "taken_by": str(alarm.acknowledged_by or "Somebody")}
    waits = lasting(now - alarm.raised_at)
    return {
        "due_at": min(alarm.raised_at, now),
        "when": f"nobody sees to it for {waits}" if alarms.is_unseen(alarm, now) else "now",
        "seen_url": reverse("pour-day-seen", args=[alarm.pour_id, alarm.pk]),
    }


def _left_alone(pour: Pour, run: Json, now: datetime, words: Words) -> Iterator[TodayCall]:
    """A slab that should be finished long since, of which nobody says so."""
    if run["is_left_alone"]:
        finished_at = moment(run["slab"]["finished_at"])
        yield TodayCall(
            due_at=now,
            severity="caution",
            when=f"since {words.clock(about(finished_at), site_zone(pour))}",
            words="By its placing the slab should be finished, and nobody has noted it. Is somebody there?",
            whom=_plant_and_lead(pour)[1:],
            name=pour_name(pour),
            url=reverse("pour-day", args=[pour.pk]),
            is_live=True,
        )


def _other_plants(pour: Pour, plants: tuple[Plant, ...]) -> str:
    """Who else could bring concrete, and how soon at best."""
    others = [plant for plant in plants if plant.pk != pour.plant_id][:MOST_OTHER_PLANTS]
    if not others:
        return ""
    return f"If none comes: {'; '.join(_at_the_soonest(plant) for plant in others)}."


def _at_the_soonest(plant: Plant) -> str:
    soonest = plant.loading_min + plant.usual_haul_min
    return f"{plant.name} {plant.phone.as_national}, {soonest:.0f} min at the soonest"


def _balance(pour: Pour, run: Json, now: datetime, words: Words) -> Iterator[TodayCall]:
    """What is short by measure; before, to measure while the last load can be changed, until its batch."""
    if run["balance"] and run["balance"]["need"]:
        yield from _short(pour, run["balance"], now, words)
        return
    last = run["loads"][-1]
    left = sum(load["stand"] != "empty" for load in run["loads"])
    if not pour.plan or not pour.hold_last_load or len(run["loads"]) < 2 or last["stand"] != "coming":
        return
    planned = pour.plan.result["delivery"]["loads"][-1]
    ahead = moment(planned["arrives_at"]) - moment(planned["batch_at"])
    until = moment(last["arrives_at"]) - ahead
    if left > MEASURE_WITH_LEFT or until <= now:
        return
    by = words.clock(until, site_zone(pour))
    yield TodayCall(
        due_at=now,
        severity="caution",
        when=f"by {by}",
        words=(
            f"{left} load{'s' if left > 1 else ''} left: have what is still to fill measured, and tell the "
            f"plant how much load {last['number']} shall bring before it is batched at about {by}."
        ),
        whom=_plant_and_lead(pour)[::-1],
        name=pour_name(pour),
        url=reverse("pour-day", args=[pour.pk]),
        is_live=True,
    )


def _short(pour: Pour, stand: Json, now: datetime, words: Words) -> Iterator[TodayCall]:
    if stand["is_short"]:
        by_at = stand["need"]["by_at"]
        yield TodayCall(
            due_at=now,
            severity="caution",
            when=f"by {words.clock(moment(by_at), site_zone(pour))}" if by_at else "now",
            words=to_order(stand["need"], site_zone(pour), words, now),
            whom=_plant_and_lead(pour),
            name=pour_name(pour),
            url=reverse("pour-day", args=[pour.pk]),
            is_live=True,
        )


def _plant_and_lead(pour: Pour) -> tuple[Whom, ...]:
    lead = pour.crew.lead if pour.crew else None
    return (*_plant(pour.plant), *(_person(lead) if lead else ()))


def _plant(plant: Plant) -> tuple[Whom, ...]:
    return _whom(plant.name, plant.phone)


def _person(person: User) -> tuple[Whom, ...]:
    return _whom(str(person), person.phone)


def _whom(name: str, phone: PhoneNumber | None) -> tuple[Whom, ...]:
    return (Whom(name, phone.as_national, phone.as_e164) if phone else Whom(name, "", ""),)


# --- orders -----------------------------------------------------------------------------------


def _of_order(order: PlantOrder, now: datetime, words: Words) -> TodayCall:
    pour, to_call = order.pour, order.state == OrderState.TO_CALL
    first = words.day_and_time(order.first_on_site_at, site_zone(pour))
    amount = f"{words.ordered(order.quantity_m3)} of {order.mix.code}"
    asked = f"{amount}, first truck {first}"
    taken = f" It was taken by {order.taken_by}." if order.taken_by else ""
    return TodayCall(
        due_at=order.order_by,
        severity="stop" if to_call and order.order_by <= now else "caution",
        when=_cut_off(order, now, words),
        words=f"Call in {asked}." if to_call else f"Ask the plant to confirm {asked}.{taken}",
        whom=_plant(order.plant),
        say=say_to_plant(pour, pour.plan.result, words) if to_call and pour.plan else "",
        name=pour_name(pour),
        url=reverse("pour", args=[pour.pk]),
        order=_order_form(order, to_call=to_call),
    )


def _cut_off(order: PlantOrder, now: datetime, words: Words) -> str:
    """By when, on the office's clock, or how long the plant's cut-off has been over."""
    if order.order_by > now:
        return f"by {words.clock(order.order_by, words.office)}"
    over = now - order.order_by
    return f"{lasting(over)} past the cut-off" if over < timedelta(hours=10) else "past the cut-off"


def _order_form(order: PlantOrder, *, to_call: bool) -> OrderForm:
    # A form that somebody fills in is kept as long as the page has one of its name: of this order as it is.
    name = f"order-{order.pk}-{order.state}"
    kind = CalledForm if to_call else ConfirmedForm
    return OrderForm(
        id=name,
        url=reverse("order-called" if to_call else "order-confirmed", args=[order.pour_id]),
        form=kind(initial={"revision": order.revision}, auto_id=f"{name}_%s"),
        asks="Called in…" if to_call else "Confirmed…",
        done="Called in" if to_call else "Confirmed by the plant",
    )


# --- texts ------------------------------------------------------------------------------------


def _of_text(text: Message, words: Words) -> TodayCall:
    reader = text.recipient
    crew = getattr(reader, "crew_led", None)
    who = f"{reader}, {crew}," if crew else str(reader)
    went_at = text.sent_at or text.due_at
    said = f"{who} has not answered the morning text of {words.clock(went_at, words.office)}."
    if text.state not in SENT:
        said = f"{who} did not get the morning text: {text.reason or text.get_state_display()}."
    waits = TO_ANSWER if text.state in SENT else timedelta()
    return TodayCall(
        due_at=went_at + waits,
        severity="caution",
        when="now" if text.state not in SENT else f"since {words.clock(about(went_at), words.office)}",
        words=said,
        whom=_person(reader),
        url=reverse("on-call"),
        name="Texts",
    )


def _of_reply(reply: Reply, words: Words) -> TodayCall:
    who = str(reply.person or "A number we do not know")
    return TodayCall(
        due_at=reply.received_at,
        severity="caution",
        when=f"since {words.clock(reply.received_at, words.office)}",
        words=f"{who} texted: “{reply.body}”",
        whom=_whom(who, reply.phone if reply.phone and reply.phone.is_valid() else None),
        url=reverse("on-call"),
        name="Texts to read",
    )

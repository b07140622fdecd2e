"""What is kept about a pour beside its plan: orders; reminders, texts, history, earlier plans."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from scheduling.models import STANDING_ORDER, Message, OrderState, Plan, PlantOrder, Pour, User
from scheduling.pages.clashes import site_zone
from scheduling.pages.history import Happening, happenings, why_planned
from scheduling.pages.wording import Words
from scheduling.queries.visible import messages_for


@dataclass(frozen=True)
class OrderWords:
    revision: int
    state: str
    said: str
    amount: str
    loads: int
    mix: str
    plant: str
    phone: str
    phone_link: str
    first_at: str
    order_by: str
    is_late: bool
    change: str
    history: tuple[str, ...]
    can_call: bool
    can_confirm: bool


@dataclass(frozen=True)
class Row:
    """A line of a list: when, what, and more about it."""

    at: str
    what: str
    more: str = ""


@dataclass(frozen=True)
class PourRecords:
    reminders: tuple[Row, ...]
    texts: tuple[Row, ...]
    history: tuple[Happening, ...]
    plans: tuple[Row, ...]


def standing_order(pour: Pour) -> PlantOrder | None:
    """The order that holds, of those fetched with the pour."""
    return next((order for order in pour.orders.all() if order.state in STANDING_ORDER), None)


def order_words(pour: Pour, words: Words, now: datetime) -> OrderWords | None:
    standing = standing_order(pour)
    return None if standing is None else _order(standing, pour, words, now)


def earlier_orders(pour: Pour, words: Words) -> tuple[Row, ...]:
    standing, zone = standing_order(pour), site_zone(pour)
    return tuple(_earlier(order, words, zone) for order in pour.orders.all() if order != standing)


def pour_records(pour: Pour, person: User, words: Words) -> PourRecords:
    zone = site_zone(pour)
    events = list(pour.events.select_related("by"))
    plans = pour.plans.select_related("made_by").defer("inputs", "result").order_by("-number")
    texts = messages_for(person).filter(about__pour=pour).order_by("-due_at", "-id")
    return PourRecords(
        reminders=tuple(
            Row(words.day_and_time(r.due_at, zone), r.get_kind_display(), r.get_state_display())
            for r in pour.reminders.all()
        ),
        texts=tuple(_text(text, words, zone) for text in texts),
        history=happenings(events, zone, words),
        plans=tuple(
            _plan(plan, pour, why_planned(plan.number, events, zone, words), words) for plan in plans
        ),
    )


def _order(order: PlantOrder, pour: Pour, words: Words, now: datetime) -> OrderWords:
    plant_zone = ZoneInfo(order.plant.time_zone)
    return OrderWords(
        revision=order.revision,
        state=order.state,
        said=order.get_state_display(),
        amount=words.ordered(order.quantity_m3),
        loads=order.loads,
        mix=order.mix.code,
        plant=order.plant.name,
        phone=order.plant.phone.as_national if order.plant.phone else "",
        phone_link=order.plant.phone.as_e164 if order.plant.phone else "",
        first_at=words.day_and_time(order.first_on_site_at, plant_zone),
        order_by=words.day_and_time(order.order_by, plant_zone),
        is_late=order.state == OrderState.TO_CALL and order.order_by < now,
        history=tuple(_order_history(order, words, site_zone(pour))),
        change=_change(order, words, now),
        can_call=order.state == OrderState.TO_CALL,
        can_confirm=order.state in (OrderState.TO_CALL, OrderState.CALLED),
    )


def _change(order: PlantOrder, words: Words, now: datetime) -> str:
    """What the plant's terms are for changing or cancelling it; empty where nobody entered them."""
    until, fee = order.free_until, words.money(order.plant.late_change_fee)
    if until is None or not order.plant.late_change_fee:
        return ""
    if now <= until:
        return f"is free until {words.day_and_time(until, ZoneInfo(order.plant.time_zone))}, then {fee}"
    return f"costs {fee} now" if order.change_fee(now) else f"costs {fee} once it is called in"


def _order_history(order: PlantOrder, words: Words, zone: ZoneInfo) -> Iterator[str]:
    if order.called_at and order.taken_by:
        yield f"Called in {words.day_and_time(order.called_at, zone)}, taken by {order.taken_by}."
    if order.confirmed_at:
        ticket = f", order number {order.ticket}" if order.ticket else ""
        yield f"Confirmed {words.day_and_time(order.confirmed_at, zone)}{ticket}."


def _earlier(order: PlantOrder, words: Words, zone: ZoneInfo) -> Row:
    what = f"No. {order.revision}: {words.ordered(order.quantity_m3)} in {order.loads}"
    return Row(words.day_and_time(order.made_at, zone), what, order.get_state_display())


def _text(text: Message, words: Words, zone: ZoneInfo) -> Row:
    what = f"{text.get_kind_display()} to {text.recipient}"
    more = f"{text.get_state_display()}{': ' + text.reason if text.reason else ''}"
    if text.answer:
        more += f", answered “{text.get_answer_display()}”"
    return Row(words.day_and_time(text.sent_at or text.due_at, zone), what, more)


def _plan(plan: Plan, pour: Pour, why: str, words: Words) -> Row:
    zone = site_zone(pour)
    start = words.day_and_time(plan.starts_at, zone)
    what = f"Plan {plan.number}: {words.ordered(plan.order_m3)} in {plan.loads}, from {start}"
    by = f"by {plan.made_by}" if plan.made_by else "by itself"
    stands = ["it stands"] if plan.pk == pour.plan_id else []
    return Row(
        words.day_and_time(plan.made_at, zone), what, ", ".join([*stands, by, *([why] if why else [])])
    )

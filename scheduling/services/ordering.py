"""Orders with the plant: made from the plan, called in by a person, revised when the plan moves."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from django.db import transaction
from django.db.models import Max

from scheduling import bridge
from scheduling.errors import Refusal
from scheduling.models import (
    STANDING_ORDER,
    EventKind,
    OrderState,
    Plan,
    Plant,
    PlantOrder,
    Pour,
    PourState,
    User,
)
from scheduling.services import papers, reminders
from scheduling.services.history import record

FARTHEST_OPEN_DAY = 14  # a plant shut longer than two weeks is called by hand


def order_by(plant: Plant, starts_at: datetime) -> datetime:
    """The plant's cut-off: that clock time on its last open day before the day of the pour."""
    zone = ZoneInfo(plant.time_zone)
    day = starts_at.astimezone(zone).date()
    before = (day - timedelta(days=back) for back in range(1, FARTHEST_OPEN_DAY + 1))
    last_open = next((d for d in before if bridge.is_open_on(plant, d)), day - timedelta(days=1))
    return datetime.combine(last_open, plant.order_cutoff_at, zone).astimezone(UTC)


def standing_order(pour: Pour) -> PlantOrder | None:
    """The order that holds now, if there is one."""
    return pour.orders.filter(state__in=STANDING_ORDER).first()


@transaction.atomic
def follow_plan(*, pour: Pour, plan: Plan, by: User | None, now: datetime) -> PlantOrder:
    """The order the plan asks for: the standing one where nothing changed, otherwise a new revision.

    A revision always starts as "to call": the plant must be told again by a person.
    """
    standing = standing_order(pour)
    asked = {
        "plant": pour.plant,
        "mix": pour.mix,
        "quantity_m3": plan.order_m3,
        "loads": plan.loads,
        "first_on_site_at": plan.starts_at,
        "first_together": plan.first_together,
        "next_after_min": plan.next_after_min,
        "interval_min": plan.interval_min,
    }
    if standing and all(getattr(standing, name) == value for name, value in asked.items()):
        return standing
    return _revise(pour, standing, asked, by, now)


def _revise(
    pour: Pour, standing: PlantOrder | None, asked: dict[str, object], by: User | None, now: datetime
) -> PlantOrder:
    if standing:
        standing.state = OrderState.REPLACED
        standing.save(update_fields=["state"])
    last = pour.orders.aggregate(last=Max("revision"))["last"] or 0
    order = PlantOrder.objects.create(
        pour=pour,
        revision=last + 1,
        order_by=order_by(pour.plant, pour.starts_at),
        made_by=by,
        made_at=now,
        **asked,
    )
    kind = EventKind.ORDER_REVISED if standing else EventKind.ORDER_MADE
    record(pour, kind, by=by, now=now, revision=order.revision)
    return order


@transaction.atomic
def call_in(*, order: PlantOrder, taken_by: str, by: User, now: datetime) -> PlantOrder:
    """Note that a person has called the order in, and who at the plant took it."""
    _move_on(order, from_states=(OrderState.TO_CALL,), to=OrderState.CALLED)
    order.called_at, order.taken_by = now, taken_by
    order.save(update_fields=["called_at", "taken_by"])
    record(order.pour, EventKind.ORDER_CALLED, by=by, now=now, revision=order.revision, taken_by=taken_by)
    _settle_reminders(order, now)
    return order


@transaction.atomic
def confirm(*, order: PlantOrder, ticket: str, by: User, now: datetime) -> PlantOrder:
    """Note that the plant has confirmed the order.

    Raises
    ------
    Refusal
        The pour is on hold, something of it is not released, or its trucks must back and nobody is
        named to guide them.
    """
    if order.pour.state == PourState.ON_HOLD:
        raise Refusal("This pour is on hold: release it before its order is confirmed.", code="pour_on_hold")
    require_spotter(order.pour)
    papers.require_passed(order.pour)
    _move_on(order, from_states=(OrderState.TO_CALL, OrderState.CALLED), to=OrderState.CONFIRMED)
    order.confirmed_at, order.ticket = now, ticket
    order.called_at = order.called_at or now
    order.save(update_fields=["confirmed_at", "called_at", "ticket"])
    record(order.pour, EventKind.ORDER_CONFIRMED, by=by, now=now, revision=order.revision, ticket=ticket)
    _settle_reminders(order, now)
    return order


def require_spotter(pour: Pour) -> None:
    """Refuse to promise trucks that must back while nobody is named to guide them."""
    if pour.job.site.trucks_must_back and not pour.spotter:
        raise Refusal(
            "Trucks must back in here: name the spotter before the order is confirmed.",
            code="no_spotter",
            field="spotter",
        )


@transaction.atomic
def cancel_standing(*, pour: Pour, by: User | None, now: datetime) -> PlantOrder | None:
    """Cancel the order that holds, if there is one. Telling the plant stays a person's work."""
    order = standing_order(pour)
    if order is None:
        return None
    _move_on(order, from_states=STANDING_ORDER, to=OrderState.CANCELLED)
    record(pour, EventKind.ORDER_CANCELLED, by=by, now=now, revision=order.revision)
    return order


def _settle_reminders(order: PlantOrder, now: datetime) -> None:
    """What has been called in or confirmed needs no reminding of."""
    if order.pour.plan:
        reminders.follow_plan(pour=order.pour, plan=order.pour.plan, now=now)


def _move_on(order: PlantOrder, *, from_states: tuple[OrderState, ...], to: OrderState) -> None:
    """Change the state only if it still is one of those it may leave."""
    changed = PlantOrder.objects.filter(pk=order.pk, state__in=from_states).update(state=to)
    order.refresh_from_db()
    if changed != 1:
        raise Refusal(
            f"This order is {order.get_state_display()}; it cannot become {to.label}.",
            code="order_moved_on",
            facts={"state": order.state},
        )

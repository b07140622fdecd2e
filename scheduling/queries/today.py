"""Today as the dispatcher looks at it: the pours now, and whom to call next, in a handful of queries."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Exists, OuterRef, Q, QuerySet

from scheduling.models import (
    STANDING,
    Message,
    MessageKind,
    MessageState,
    OrderState,
    PlanPhase,
    Plant,
    PlantOrder,
    Pour,
    PourState,
    Reply,
    User,
)
from scheduling.queries.oncall import replies_to_read
from scheduling.queries.visible import orders_for, pours_for
from scheduling.queries.week import local_day, office_zone
from scheduling.roles import Right

MOST_CALLS = 20  # of a kind: who has more to call than that needs the week, not the day
TO_CONFIRM = (OrderState.TO_CALL, OrderState.CALLED)
DID_NOT_REACH = (MessageState.FAILED, MessageState.WITHHELD, MessageState.UNKNOWN, MessageState.EXPIRED)
SENT = (MessageState.SENT, MessageState.DELIVERED)


@dataclass(frozen=True)
class TodayView:
    """What this person may see of today. `zone` is the office's, whose clock the page shows."""

    now: datetime
    zone: ZoneInfo
    pours: tuple[Pour, ...]
    orders: tuple[PlantOrder, ...]  # to call in or to have confirmed by the end of today
    unanswered: tuple[Message, ...]  # morning texts of these pours that nobody answered
    replies: tuple[Reply, ...]
    plants: tuple[Plant, ...]  # all that have a telephone, the nearest first

    @property
    def day(self) -> date:
        return self.now.astimezone(self.zone).date()


def today_view(user: User, now: datetime) -> TodayView:
    """The day as it stands at `now`, restricted to what this person may see and act on."""
    zone = office_zone()
    pours = _pours_of_today(user, now)
    midnight = datetime.combine(now.astimezone(zone).date() + timedelta(days=1), time(), zone)
    reads = user.may(Right.SEE_MESSAGES)
    return TodayView(
        now=now,
        zone=zone,
        pours=tuple(pours),
        orders=tuple(_orders(user, now, midnight)) if user.may(Right.ORDER) else (),
        unanswered=tuple(_unanswered(pours, now)) if reads else (),
        replies=tuple(replies_to_read()[:MOST_CALLS]) if reads else (),
        plants=tuple(_plants()),
    )


def _pours_of_today(user: User, now: datetime) -> list[Pour]:
    """Pours on today's date where they are placed, and those of before whose slab still keeps people busy."""
    busy = PlanPhase.objects.filter(plan=OuterRef("plan"), ends_at__gt=now)
    # A site's midnight may be hours from anybody else's: look a day wider, then keep by its own calendar.
    near = Q(starts_at__gte=now - timedelta(days=2), starts_at__lt=now + timedelta(days=2))
    going = Q(Exists(busy), starts_at__lt=now)
    around = pours_for(user).filter(near | going).exclude(state=PourState.CANCELLED)
    return [pour for pour in around.order_by("starts_at", "id") if _is_today(pour, now)]


def _is_today(pour: Pour, now: datetime) -> bool:
    """Whether it is placed today on its own calendar, or was before and is not cut yet."""
    if local_day(pour) == now.astimezone(ZoneInfo(pour.job.site.time_zone)).date():
        return True
    return pour.starts_at < now < last_work_ends_at(pour)


def last_work_ends_at(pour: Pour) -> datetime:
    """When the last of its crew is done by plan; its start where there is none."""
    phases = pour.plan.result["phases"] if pour.plan else []
    return max((datetime.fromisoformat(phase["ends_at"]) for phase in phases), default=pour.starts_at)


def _orders(user: User, now: datetime, midnight: datetime) -> QuerySet[PlantOrder]:
    waiting = orders_for(user).filter(state__in=TO_CONFIRM, pour__state__in=STANDING)
    due = waiting.filter(order_by__lt=midnight, first_on_site_at__gt=now)
    whole = due.select_related("pour__job__site", "pour__plant", "pour__mix", "pour__plan")
    return whole.defer("pour__plan__inputs").order_by("order_by", "id")[:MOST_CALLS]


def _unanswered(pours: list[Pour], now: datetime) -> QuerySet[Message]:
    """Morning texts of pours that have not begun, sent and not answered, or not got through."""
    ahead = [pour.pk for pour in pours if pour.is_standing and pour.starts_at > now]
    texts = Message.objects.filter(kind=MessageKind.MORNING, about__pour__in=ahead, answered_at=None)
    open_ones = texts.filter(state__in=(*SENT, *DID_NOT_REACH), reply=None)
    return open_ones.select_related("recipient__crew_led").distinct().order_by("due_at", "id")[:MOST_CALLS]


def _plants() -> QuerySet[Plant]:
    return Plant.objects.filter(active=True).exclude(phone="").order_by("usual_haul_min", "name")

"""The morning text: one a day for each crew lead, written shortly before it is due."""

import logging
from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db import transaction
from django.db.models import QuerySet
from django.utils import translation

from scheduling.models import STANDING, Company, Message, MessageKind, MessageState, Pour, User
from scheduling.queries.week import local_day
from scheduling.services import briefing, daylinks, outbox
from scheduling.services.nudge import nudge
from scheduling.services.quiet import quiet_night
from scheduling.texting.wording import morning_text

log = logging.getLogger(__name__)

# Before the crew must stand on site (our choice): half past five serves a call at six, the usual one.
LEAST_NOTICE = timedelta(minutes=30)
TO_SLEEP = timedelta(hours=5)  # from the evening's text to a call in the night, at least (our choice)
NONE, DAY = timedelta(), timedelta(days=1)


def text_due_at(day: date, zone: ZoneInfo, call_at: datetime, company: Company) -> datetime:
    """The company's hour on the site's own clock, or earlier where the crew is called soon after it.

    Who would be woken for it is told the evening before, early enough to sleep.
    """
    usual_at = datetime.combine(day, company.morning_text_at, zone).astimezone(UTC)
    due_at = min(usual_at, call_at - LEAST_NOTICE)
    if quiet_night(due_at, zone, company) is None:
        return due_at
    last_day = (call_at - TO_SLEEP).astimezone(zone).date()
    evenings = (datetime.combine(last_day - back, company.evening_text_at, zone) for back in (NONE, DAY))
    return next(at for at in evenings if at <= call_at - TO_SLEEP).astimezone(UTC)


def write_due(*, now: datetime) -> int:
    """Write the texts of all leads whose hour has come and whose first pour is not over; how many are new."""
    company = Company.objects.first()
    if company is None:
        return 0
    written = 0
    for (lead, day), pours in _days_around(now).items():
        try:
            written += _write(lead, day, pours, company, now)
        except Exception:  # whatever is wrong with this one, the next lead must still get theirs
            log.exception("The morning text of %s for %s was not written", lead, day)
    if written:
        nudge("scheduling.tasks.send_due_messages")
    return written


def key_of(lead: User, day: date) -> str:
    """What the keys of a lead's texts of that day begin with."""
    return f"morning:{lead.pk}:{day}:"


def compose(*, lead: User, day: date) -> str | None:
    """The text as it would be written now; None where the lead has nothing that day."""
    return compose_all(leads=[lead], day=day).get(lead.pk)


def compose_all(*, leads: Iterable[User], day: date) -> dict[int, str]:
    """The texts of these leads as they would be written now, by the lead's key, for those who have one."""
    noon, by_lead = datetime.combine(day, time(12), UTC), {lead.pk: lead for lead in leads}
    around = _standing_pours(noon - timedelta(days=2), noon + timedelta(days=2)).filter(
        crew__lead__in=by_lead
    )
    pours: dict[int, list[Pour]] = defaultdict(list)
    for pour in around.defer(None).prefetch_related("papers", "crew__workers"):
        if pour.crew and pour.crew.lead_id and local_day(pour) == day:
            pours[pour.crew.lead_id].append(pour)
    company, link = Company.objects.get(), daylinks.draft_address()
    return {pk: _text(by_lead[pk], own, company, link)[0] for pk, own in pours.items()}


def _standing_pours(start: datetime, end: datetime) -> QuerySet[Pour]:
    """Pours of crews with a lead, in order; their long answers are read only where a text is written."""
    around = Pour.objects.filter(
        state__in=STANDING, starts_at__gte=start, starts_at__lt=end, crew__lead__isnull=False
    )
    rows = around.select_related("job__site", "plant", "mix", "crew__lead", "plan")
    return rows.defer("plan__inputs", "plan__result").order_by("starts_at", "id")


def _days_around(now: datetime) -> dict[tuple[User, date], list[Pour]]:
    """The pours near enough for a text to be due, by lead and day of each site's own calendar."""
    days: dict[tuple[User, date], list[Pour]] = defaultdict(list)
    for pour in _standing_pours(now - timedelta(days=2), now + timedelta(days=2)):
        if pour.crew and pour.crew.lead:
            days[pour.crew.lead, local_day(pour)].append(pour)
    return days


def _write(lead: User, day: date, pours: Sequence[Pour], company: Company, now: datetime) -> bool:
    """Write the text if it is due, unless one that says the same was written or one has gone out."""
    due_at = _due_at(day, pours, company)
    useful_until = pours[0].plan.placed_at if pours[0].plan else pours[0].starts_at
    if not due_at <= now < useful_until:
        return False
    with transaction.atomic():
        key = key_of(lead, day)
        earlier = Message.objects.filter(key__startswith=key).order_by("pk")
        last = earlier.last()
        if last and not _gives_way(last, pours):
            return False
        link = daylinks.address_for(lead=lead, pours=pours, now=now)
        body, is_urgent = _text(lead, pours, company, link)
        message = outbox.queue_message(
            key=f"{key}{len(earlier) + 1}",
            kind=MessageKind.MORNING,
            recipient=lead,
            body=body,
            due_at=due_at,
            useful_until=useful_until,
            pours=pours,
            now=now,
            is_urgent=is_urgent,
        )
    return message is not None


def _due_at(day: date, pours: Sequence[Pour], company: Company) -> datetime:
    first_call_at = min(briefing.call_at(pour, company) for pour in pours)
    return text_due_at(day, briefing.site_zone(pours[0]), first_call_at, company)


def _gives_way(last: Message, pours: Sequence[Pour]) -> bool:
    """Whether the text written last speaks of other pours or versions, and has not gone out."""
    told = set(last.about.values_list("pour", "pour_version"))
    if told == {(pour.pk, pour.version) for pour in pours}:
        return False
    if last.state == MessageState.QUEUED:
        return outbox.withdraw(message=last, reason="the day changed before it was sent")
    return last.state in (MessageState.EXPIRED, MessageState.FAILED, MessageState.WITHHELD)


def _text(lead: User, pours: Sequence[Pour], company: Company, link: str) -> tuple[str, bool]:
    """The text in the language its reader chose, and whether it is urgent."""
    crew = pours[0].crew
    names = briefing.first_names(crew) if crew else []
    with translation.override(lead.language):
        facts = [briefing.pour_facts(pour, company) for pour in pours]
        return morning_text(facts, names, link), any(pour.is_urgent for pour in facts)

"""Ask the engine for a plan, and keep the answer with what was asked."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.db import transaction
from django.db.models import Max

from scheduling import bridge
from scheduling.engine.beststart import StartLimits, best_starts
from scheduling.engine.dayplan import PourPlan
from scheduling.engine.dayplan import plan_pour as ask_engine
from scheduling.engine.inputs import BadInput, PourRequest, WeatherHour
from scheduling.errors import Refusal
from scheduling.models import Company, EventKind, Plan, PlanPhase, Pour, SiteForecast, User
from scheduling.queries.forecasts import age_h, forecast_for
from scheduling.queries.plantday import plant_busy
from scheduling.services import ordering, rates, reminders
from scheduling.services.history import record
from scheduling.services.slabs import Columns, draft_sections, engine_sections

EARLIEST_START = time(4)
START_STEP = timedelta(minutes=30)
START_STEPS = 28  # to six in the evening


@contextmanager
def refusing_bad_input() -> Iterator[None]:
    """Turn what the engine cannot plan from into a refusal a person can read."""
    try:
        yield
    except BadInput as bad:
        raise Refusal(str(bad), code=bad.code, field=bad.field) from bad


@transaction.atomic
def plan_pour(*, pour: Pour, by: User | None, now: datetime) -> Plan:
    """Plan the pour as it stands, keep the plan as its current one, and let order and reminders follow.

    Raises
    ------
    Refusal
        If no plan can be made from what the pour says.
    """
    forecast = forecast_for(pour.job.site, pour.starts_at, now)
    with refusing_bad_input():
        request = _request(pour, forecast, now)
        answer = ask_engine(request)
    plan = _keep(pour, request, answer, forecast, by, now)
    record(pour, EventKind.PLANNED, by=by, now=now, plan=plan.number)
    ordering.follow_plan(pour=pour, plan=plan, by=by, now=now)
    reminders.follow_plan(pour=pour, plan=plan, now=now)
    return plan


def _keep(
    pour: Pour,
    request: PourRequest,
    answer: PourPlan,
    forecast: SiteForecast | None,
    by: User | None,
    now: datetime,
) -> Plan:
    last = pour.plans.aggregate(last=Max("number"))["last"] or 0
    said = answer.arrivals.sayable
    plan = Plan.objects.create(
        pour=pour,
        number=last + 1,
        pour_version=pour.version,
        made_at=now,
        made_by=by,
        forecast=forecast,
        inputs=bridge.to_json(request),
        result=bridge.to_json(answer),
        call_at=answer.call_at,
        starts_at=answer.starts_at,
        placed_at=answer.placed_at,
        order_m3=answer.quantity.order_m3,
        loads=len(answer.quantity.loads_m3),
        first_together=said.first_together,
        next_after_min=said.next_after_min,
        interval_min=said.interval_min,
        worst=answer.worst,
    )
    PlanPhase.objects.bulk_create(
        PlanPhase(
            plan=plan,
            kind=phase.kind.value,
            starts_at=phase.starts_at,
            ends_at=phase.ends_at,
            people=phase.people,
        )
        for phase in answer.phases
    )
    pour.plan = plan
    pour.save(update_fields=["plan"])
    return plan


def better_starts(*, pour: Pour, now: datetime) -> list[dict[str, Any]]:
    """Every half hour of the pour's day that is still ahead, best first, and what speaks against each.

    The JSON of the engine's `StartChoice`s. A kept pour is asked of its kept sections and the newest
    forecast.

    Raises
    ------
    Refusal
        If no start of that day is still ahead, or no plan can be made.
    """
    starts = [start for start in _starts_of_day(pour) if start > now]
    if not starts:
        raise Refusal("No start is left on that day.", code="day_over")
    with refusing_bad_input():
        request = _request(pour, forecast_for(pour.job.site, pour.starts_at, now), now)
        return bridge.to_json(best_starts(request, starts, _limits(pour)))


def _request(pour: Pour, forecast: SiteForecast | None, now: datetime) -> PourRequest:
    """The question about a kept pour in the weather of that forecast."""
    company = Company.objects.get()
    return bridge.pour_request(
        pour,
        company,
        bridge.kept_sections(pour),
        _hours(forecast),
        plant_busy(pour, company),
        age_h(forecast, now) if forecast else None,
        rates.learned_for(pour, now),
    )


def _hours(forecast: SiteForecast | None) -> tuple[WeatherHour, ...]:
    return bridge.forecast_hours(forecast.hours) if forecast else ()


def _limits(pour: Pour) -> StartLimits:
    site = pour.job.site
    day = pour.starts_at.astimezone(ZoneInfo(site.time_zone)).date()
    return StartLimits(loud_windows=bridge.loud_windows(site, day))


def _starts_of_day(pour: Pour) -> Iterator[datetime]:
    """The half hours from four in the morning to six in the evening, on the site's own clock."""
    zone = ZoneInfo(pour.job.site.time_zone)
    day = pour.starts_at.astimezone(zone).date()
    first = datetime.combine(day, EARLIEST_START, zone).astimezone(UTC)
    return (first + n * START_STEP for n in range(START_STEPS + 1))


def preview_pour(
    *, pour: Pour, sections: Sequence[Columns], now: datetime, hours: Sequence[WeatherHour] | None = None
) -> dict[str, Any]:
    """The whole plan of a pour that is not kept, as the JSON a kept plan has under `result`.

    `pour` is an unsaved instance with its job, site, plant and mix, kept or not. With no `hours` the
    newest forecast of a kept site serves. Nothing is stored.

    Raises
    ------
    Refusal
        If no plan can be made from what the pour says.
    """
    with refusing_bad_input():
        return bridge.to_json(ask_engine(_draft_request(pour, sections, now, hours)))


def starts_of_draft(*, pour: Pour, sections: Sequence[Columns], now: datetime) -> list[dict[str, Any]]:
    """Every full hour of the day of a pour that is not kept, best first; otherwise as `better_starts`.

    Raises
    ------
    Refusal
        If no start of that day is still ahead, or no plan can be made.
    """
    starts = [start for start in list(_starts_of_day(pour))[::2] if start > now]
    if not starts:
        raise Refusal("No start is left on that day.", code="day_over")
    with refusing_bad_input():
        request = _draft_request(pour, sections, now, None)
        return bridge.to_json(best_starts(request, starts, _limits(pour)))


def _draft_request(
    pour: Pour, sections: Sequence[Columns], now: datetime, hours: Sequence[WeatherHour] | None
) -> PourRequest:
    """The question about a pour that is not kept."""
    given_h = None
    if hours is None and pour.job.site.pk:
        forecast = forecast_for(pour.job.site, pour.starts_at, now)
        hours, given_h = _hours(forecast), age_h(forecast, now) if forecast else None
    company = Company.objects.first() or Company()
    slab = engine_sections(draft_sections(sections))
    busy, learned = plant_busy(pour, company), rates.learned_for(pour, now)
    return bridge.pour_request(pour, company, slab, tuple(hours or ()), busy, given_h, learned)

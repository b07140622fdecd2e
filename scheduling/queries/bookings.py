"""What booking looks up: pours of the same day, jobs of the same name, what a job was last booked with."""

from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import QuerySet

from scheduling.models import STANDING, Job, Pour, User

USUAL = ("crew", "mix", "method", "finish", "saw", "finishers", "power_trowels", "reinforcement")
LATEST = 300  # our choice: a few months of pours; a job longer ago is booked like any new one


def pours_on(day: date, zone: str) -> QuerySet[Pour]:
    """Standing pours that start on that day of that clock."""
    first = datetime.combine(day, time(), ZoneInfo(zone))
    there = Pour.objects.filter(state__in=STANDING, starts_at__gte=first)
    return there.filter(starts_at__lt=first + timedelta(days=1)).select_related("job__site")


def jobs_called(name: str) -> QuerySet[Job]:
    """Jobs of just that name, whatever their capitals."""
    return Job.objects.filter(name__iexact=name.strip()).select_related("site")


def usual_of_jobs(by: User) -> tuple[dict[str, dict[str, Any]], dict[str, Any]]:
    """What each job was booked with last, by the job's key, and what this person booked with last."""
    columns = [f"{name}_id" if name in ("crew", "mix") else name for name in USUAL]
    rows = list(
        Pour.objects.order_by("-booked_at", "-pk").values("job_id", "booked_by_id", *columns)[:LATEST]
    )
    own = next((row for row in rows if row["booked_by_id"] == by.pk), rows[0] if rows else {})
    last_first = {row["job_id"]: _typed(row) for row in reversed(rows)}
    return {str(job): last_first[job] for job in dict.fromkeys(row["job_id"] for row in rows)}, _typed(own)


def _typed(row: dict[str, Any]) -> dict[str, str]:
    """As a form has it, without what was left open."""
    said = {name: row.get(f"{name}_id" if name in ("crew", "mix") else name) for name in USUAL}
    return {name: str(value) for name, value in said.items() if value is not None}

"""Public holidays of the company's state, and what a day of the week costs at a plant."""

from collections.abc import Mapping
from datetime import date, datetime, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

from holidays import country_holidays

from scheduling.models import Company, FeeDay, Plant

SATURDAY, SUNDAY = 5, 6


@lru_cache(maxsize=64)
def _of_year(country: str, state: str, year: int) -> Mapping[date, str]:
    return dict(country_holidays(country, subdiv=state or None, years=year))


def holiday_name(company: Company, day: date) -> str:
    """What holiday that day is; empty for none, and where nobody said whose holidays count."""
    if not company.holiday_country:
        return ""
    return _of_year(company.holiday_country, company.holiday_state, day.year).get(day, "")


def holidays_between(company: Company, start: datetime, end: datetime, zone: ZoneInfo) -> dict[date, str]:
    """The holidays of all days that a stretch touches on that zone's calendar."""
    first, last = start.astimezone(zone).date(), end.astimezone(zone).date()
    days = (first + timedelta(days=n) for n in range((last - first).days + 1))
    return {day: name for day in days if (name := holiday_name(company, day))}


def fee_day(company: Company, day: date) -> FeeDay | None:
    """Which of a plant's dear days it is: a holiday before a Sunday before a Saturday."""
    if holiday_name(company, day):
        return FeeDay.HOLIDAY
    return {SATURDAY: FeeDay.SATURDAY, SUNDAY: FeeDay.SUNDAY}.get(day.weekday())


def day_fee(plant: Plant, company: Company, day: date, order_m3: float) -> float:
    """What the plant asks on top of its price on that day; nothing where no fee of it is kept."""
    kind = fee_day(company, day)
    fee = next((row for row in plant.fees.all() if row.day == kind), None) if plant.pk else None
    return fee.flat + fee.per_m3 * order_m3 if fee else 0.0

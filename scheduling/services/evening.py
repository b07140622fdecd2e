"""The evening before: whether tomorrow is a day that will not work, and when people are told."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from scheduling.engine.dayplan import PourPlan
from scheduling.engine.inputs import Finding, Severity
from scheduling.models import Company, Pour
from scheduling.queries.papers import is_held
from scheduling.queries.week import local_day

# Texts to people's own phones end at nine (the federal limit on selling by telephone, taken as good manners).
NO_TEXTS_FROM = time(21)
LEAST_EVENING = timedelta(minutes=30)  # for a company that tells later than that
# Weather that spoils a slab or hurts people where it is met unprepared; whatever stops a pour counts besides.
GRAVE = frozenset(
    {
        "rain",
        "thunder",
        "boom_wind",
        "frost",
        "base_may_freeze",
        "evaporation_high",
        "hot_concrete",
        "cold_concrete",
        "heat_illness",
        "spotter_needed",  # no weather, but as bad to find out at six in the morning
    }
)
# Said of a slab that is down: frost in its first three days.
FROSTS = ("frost", "first_freeze")


def is_grave(finding: Finding) -> bool:
    """Whether somebody should hear of it before they go to bed."""
    if finding.severity is Severity.STOP:
        return True
    return finding.severity is Severity.CAUTION and finding.code in GRAVE


def is_worth_warning(pour: Pour, answer: PourPlan) -> bool:
    """Whether the pour's evening before needs a text: nobody may go yet, or something grave is against it."""
    return is_held(pour) or any(is_grave(finding) for finding in answer.findings)


def is_urgent(pour: Pour, answer: PourPlan) -> bool:
    """Whether its crew must not go, or not pour, as things stand."""
    return is_held(pour) or any(f.severity is Severity.STOP for f in answer.findings)


def evening_before(pour: Pour, zone: ZoneInfo, company: Company) -> tuple[datetime, datetime]:
    """From when and until when people are told, on the day before the pour by the site's own clock."""
    return _evening_of(local_day(pour) - timedelta(days=1), zone, company)


def frost_watch(answer: PourPlan, zone: ZoneInfo, company: Company) -> tuple[datetime, datetime] | None:
    """When to tell of the first frost on a young slab, and until when that is of use; None without one."""
    first_at = first_frost_at(answer)
    if first_at is None or first_at <= answer.placed_at:
        return None
    evening_at, _ = _evening_of(first_at.astimezone(zone).date(), zone, company)
    if evening_at >= first_at:
        evening_at -= timedelta(days=1)
    return max(evening_at, answer.placed_at), first_at


def first_frost_at(answer: PourPlan) -> datetime | None:
    """The beginning of the first frost the plan knows of."""
    told = [finding.facts["first_at"] for finding in answer.findings if finding.code in FROSTS]
    moments = [datetime.fromisoformat(at) if isinstance(at, str) else at for at in told]
    return min((at for at in moments if isinstance(at, datetime)), default=None)


def _evening_of(day: date, zone: ZoneInfo, company: Company) -> tuple[datetime, datetime]:
    starts_at, ends_at = (
        datetime.combine(day, clock, zone).astimezone(UTC)
        for clock in (company.evening_text_at, NO_TEXTS_FROM)
    )
    return starts_at, max(ends_at, starts_at + LEAST_EVENING)

"""When to start: every start asked about is planned, and the plans are ranked by what speaks against them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from scheduling.engine.dayplan import PourPlan, plan_pour
from scheduling.engine.inputs import BadInput, Fact, Finding, PourRequest, Severity, Window, require_aware
from scheduling.engine.startcosts import (
    Danger,
    Surroundings,
    cost_h,
    dangers_of,
)

WORTH_SAYING_H = 0.1  # crew-hours: our choice
DARK_WORTH_SAYING_H = 0.25  # our choice
DAYS_OF_A_TRY = 100  # our choice: starts are told apart by the sky and the clock more than by the last minute
MOST_STARTS = 500  # our choice: ten days of half hours

# What speaks for a start, by the danger it lessens.
ADVANTAGES = (
    ("drying", "start_dries_less"),
    ("hot_concrete", "start_cooler_concrete"),
    ("cold", "start_less_cold"),
    ("rain", "start_less_rain"),
    ("thunder", "start_less_thunder"),
    ("placing_dark", "start_placing_lighter"),
    ("finishing_dark", "start_finishing_lighter"),
    ("loud", "start_quieter"),
    ("plant_hours", "start_plant_open"),
    ("finishing_short", "start_finishers_keep_up"),
    ("unknown_weather", "start_weather_known"),
)

# What only a forecast can tell: a start it tells less of is not better for that.
_FORECAST = frozenset({"drying", "hot_concrete", "cold", "rain", "thunder"})
_WORST_FIRST = (Severity.STOP, Severity.CAUTION, Severity.NOTE)


@dataclass(frozen=True, slots=True, kw_only=True)
class StartLimits:
    """What a start must keep to: trucks, trowels and saws run in `loud_windows` only; none given: always."""

    loud_windows: tuple[Window, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class StartChoice:
    """One start and what speaks against it. Moments are in UTC.

    `costs_h` weighs each danger there is in crew-hours and `total_h` is their sum. `findings` are the
    plan's and what the start itself gives to say, worst first. Against the start that was asked for,
    `appear` are the findings that are new or of another severity, `clear` those of it that are gone,
    and `advantages` tell what is better, most first.
    """

    starts_at: datetime
    costs_h: Mapping[str, float]
    total_h: float
    findings: tuple[Finding, ...]
    appear: tuple[Finding, ...]
    clear: tuple[Finding, ...]
    advantages: tuple[Finding, ...]

    @property
    def worst(self) -> Severity:
        """The gravest severity among the findings."""
        return self.findings[0].severity if self.findings else Severity.NOTE


@dataclass(frozen=True, slots=True)
class _Tried:
    """One start as planned."""

    starts_at: datetime
    dangers: Mapping[str, Danger]
    costs_h: Mapping[str, float]
    findings: tuple[Finding, ...]

    @property
    def total_h(self) -> float:
        return sum(self.costs_h.values())


def best_starts(
    request: PourRequest, starts: Sequence[datetime], limits: StartLimits
) -> tuple[StartChoice, ...]:
    """Plan a pour for every start asked about, and rank them.

    Parameters
    ----------
    request : PourRequest
        Its own `starts_at` is the start that was asked for, against which the others are told.
    starts : sequence of datetime
        Aware; at least one.
    limits : StartLimits

    Returns
    -------
    tuple of StartChoice
        Least total first; of equals the one nearest to the start asked for, then the earlier.

    Raises
    ------
    BadInput
        No start or more than 500, a start without a zone, or a request that makes no plan possible.

    Notes
    -----
    The weights stand in `startcosts.WEIGHTS` and are our choice. Darkness is not judged under a roof,
    nor where latitude and longitude are not known, which ``daylight_unknown`` says.
    """
    if not 1 <= len(starts) <= MOST_STARTS:
        raise BadInput("starts", "out_of_range", f"There must be from 1 to {MOST_STARTS} starts.")
    for start in starts:
        require_aware("starts", start)
    asked_at, moments = request.starts_at.astimezone(UTC), [start.astimezone(UTC) for start in starts]
    span = [asked_at, *moments]
    around = Surroundings(request, min(span), max(span), limits.loud_windows)
    tried = [_try(request, moment, around) for moment in moments]
    same = (one for one in tried if one.starts_at == asked_at)
    asked = next(same, None) or _try(request, asked_at, around)
    tried.sort(key=lambda one: (round(one.total_h, 6), abs(one.starts_at - asked_at), one.starts_at))
    return tuple(_choice(one, asked) for one in tried)


def _try(request: PourRequest, starts_at: datetime, around: Surroundings) -> _Tried:
    started = replace(request, starts_at=starts_at)
    plan = plan_pour(started, days=DAYS_OF_A_TRY)
    dangers = dangers_of(started, plan, around)
    costs_h = {reason: cost_h(reason, danger) for reason, danger in dangers.items() if danger.amount > 0}
    findings = [
        *plan.findings,
        *_light_findings(started, plan, dangers, around),
        *_loud_findings(plan, dangers, around),
    ]
    findings.sort(key=lambda finding: _WORST_FIRST.index(finding.severity))
    return _Tried(starts_at, dangers, costs_h, tuple(findings))


def _choice(one: _Tried, asked: _Tried) -> StartChoice:
    here, there = ({(f.code, f.severity) for f in tried.findings} for tried in (one, asked))
    return StartChoice(
        starts_at=one.starts_at,
        costs_h=one.costs_h,
        total_h=one.total_h,
        findings=one.findings,
        appear=tuple(f for f in one.findings if (f.code, f.severity) not in there),
        clear=tuple(f for f in asked.findings if (f.code, f.severity) not in here),
        advantages=_advantages(one, asked),
    )


def _advantages(one: _Tried, asked: _Tried) -> tuple[Finding, ...]:
    found: list[tuple[float, Finding]] = []
    unsure = one.dangers["unknown_weather"].amount > asked.dangers["unknown_weather"].amount
    for reason, code in ADVANTAGES:
        saved_h = asked.costs_h.get(reason, 0.0) - one.costs_h.get(reason, 0.0)
        if saved_h > WORTH_SAYING_H and not (unsure and reason in _FORECAST):
            theirs = {f"asked_{name}": value for name, value in asked.dangers[reason].facts.items()}
            facts: dict[str, Fact] = {"starts_at": one.starts_at, "asked_at": asked.starts_at}
            facts |= {**one.dangers[reason].facts, **theirs, "saved_h": saved_h}
            found.append((saved_h, Finding(Severity.NOTE, code, facts, "our choice of weights")))
    return tuple(finding for _, finding in sorted(found, key=lambda pair: -pair[0]))


# --- what a start gives to say ----------------------------------------------------------------


def _light_findings(
    request: PourRequest, plan: PourPlan, dangers: Mapping[str, Danger], around: Surroundings
) -> Iterator[Finding]:
    if around.days is None:
        if not request.place.indoors:
            yield Finding(Severity.NOTE, "daylight_unknown", {}, "the site's place on the map is not known")
        return
    placing_h, finishing_h = dangers["placing_dark"].amount, dangers["finishing_dark"].amount
    if placing_h + finishing_h <= DARK_WORTH_SAYING_H:
        return
    day = _current_or_next(around.days, plan.starts_at)
    facts: dict[str, Fact] = {
        "placing_dark_h": placing_h,
        "finishing_dark_h": finishing_h,
        "sunrise_at": day.opens_at if day else None,
        "sunset_at": day.closes_at if day else None,
    }
    yield Finding(Severity.CAUTION, "work_in_the_dark", facts, "NOAA sun position")


def _loud_findings(plan: PourPlan, dangers: Mapping[str, Danger], around: Surroundings) -> Iterator[Finding]:
    loud = dangers["loud"]
    if loud.amount <= 0:
        return
    hours = _current_or_next(around.loud_windows, plan.starts_at)
    facts: dict[str, Fact] = {
        **loud.facts,
        "opens_at": hours.opens_at.astimezone(UTC) if hours else None,
        "closes_at": hours.closes_at.astimezone(UTC) if hours else None,
    }
    yield Finding(Severity.CAUTION, "loud_outside_hours", facts, "the place's own hours for loud work")


def _current_or_next(windows: Sequence[Window], moment: datetime) -> Window | None:
    """The window that holds a moment, or the first one after it."""
    ahead = (window for window in windows if window.closes_at > moment)
    return min(ahead, key=lambda window: window.closes_at, default=None)

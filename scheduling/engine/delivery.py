"""The loads of one pour as planned, and whether a load that really came is still good.

A load's age starts when water meets cement, which is when its truck begins to load.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from itertools import pairwise

from scheduling.engine.inputs import (
    BadInput,
    Fact,
    Finding,
    Place,
    Severity,
    Supply,
    Window,
    require_aware,
    require_positive,
)
from scheduling.engine.rounds import (
    NOISE_MIN,
    Trip,
    changeover_min,
    check_loads,
    evenly,
    next_wait,
    round_trip_min,
    truck_trips,
    unload_min,
    whole_minutes,
)
from scheduling.engine.sharedplant import shared_findings, spans_from

FULL_LOAD_SHARE = 0.5  # a last load smaller than this share of the largest is the balance: our choice

AGE_SOURCE = "ASTM C94/C94M-21"
OUR_CHOICE = "our choice"


@dataclass(frozen=True, slots=True)
class Load:
    """One truckload. `batch_at` is when water meets cement; `age_min` is its age at the end of discharge.

    It is asked for `asked_at`. `truck_wait_min` is how long it stands on site before it discharges,
    `crew_wait_min` how long the crew stands after the load before it.
    """

    number: int
    m3: float
    asked_at: datetime
    batch_at: datetime
    leaves_at: datetime
    arrives_at: datetime
    starts_at: datetime
    ends_at: datetime
    age_min: float
    truck_wait_min: float
    crew_wait_min: float
    truck: int


@dataclass(frozen=True, slots=True)
class DeliveryRun:
    loads: tuple[Load, ...]
    first_at: datetime
    ends_at: datetime
    truck_wait_min: float
    crew_wait_min: float
    findings: tuple[Finding, ...]


class LoadAge(StrEnum):
    GOOD = "good"
    TOO_OLD = "too_old"
    AGE_UNKNOWN = "age_unknown"


# --- waiting in line --------------------------------------------------------------------------


def lindley(
    services_min: Sequence[float], gaps_min: Sequence[float]
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Waits of a single line served in order of arrival.

    Parameters
    ----------
    services_min : sequence of float, length n
        How long each one is served.
    gaps_min : sequence of float, length n - 1
        Time from each arrival to the next.

    Returns
    -------
    waits_min : tuple of float, length n
        How long each one waits to be served; the first never waits.
    idles_min : tuple of float, length n - 1
        How long the server stands before each one after the first.

    Raises
    ------
    BadInput
        When there is not one gap fewer than there are services.

    Notes
    -----
    Lindley (1952), Proc. Camb. Phil. Soc. 48, 277, doi:10.1017/S0305004100027638.
    """
    if len(gaps_min) != len(services_min) - 1:
        raise BadInput("gaps_min", "wrong_length", "There must be one gap fewer than there are services.")
    waits, idles = [0.0], []
    for service, gap in zip(services_min, gaps_min, strict=False):
        wait, idle = next_wait(waits[-1], service, gap)
        waits.append(wait)
        idles.append(idle)
    return tuple(waits), tuple(idles)


# --- the run of trucks ------------------------------------------------------------------------


def deliver(
    loads_m3: Sequence[float],
    asked_min: Sequence[float],
    starts_at: datetime,
    rate_m3_h: float,
    supply: Supply,
    place: Place,
    plant_busy: Sequence[Window] = (),
) -> DeliveryRun:
    """Follow every load of a pour when the plant is told when to bring each.

    A load is batched in time to arrive when asked, unless its truck is not back or the plant is
    still busy with the load before or with others; then it comes late, and the loads after it keep their
    own times.

    Parameters
    ----------
    loads_m3 : sequence of float
        Volumes in order of delivery.
    asked_min : sequence of float
        When each load is asked to arrive, in minutes from the first, never falling.
    starts_at : datetime
        When the first truck begins to discharge.
    rate_m3_h : float
        How fast the crew empties a truck.
    supply : Supply
    place : Place
    plant_busy : sequence of Window
        When the plant loads other pours of ours, which go first.

    Returns
    -------
    DeliveryRun
        Moments in UTC.

    Raises
    ------
    BadInput
        No loads, a volume or rate that is not positive, asked arrivals that are not one for each load or
        go back in time, a moment without zone.

    Notes
    -----
    Deterministic. The age limit is the one stated by the purchaser, else by the producer:
    ASTM C94/C94M-21.
    """
    _check(loads_m3, asked_min, starts_at, rate_m3_h, supply)
    first_at = starts_at.astimezone(UTC)
    spans = spans_from(plant_busy, first_at)
    trips = truck_trips(loads_m3, asked_min, rate_m3_h, supply, place, spans)
    loads = tuple(_load(number, trip, first_at) for number, trip in enumerate(trips, start=1))
    findings = (
        *_too_old(trips, rate_m3_h, supply, place),
        *_plant_hours(loads, supply),
        *_balance(loads, supply),
        *_waiting(loads),
        *shared_findings(trips, spans),
    )
    return DeliveryRun(
        loads=loads,
        first_at=first_at,
        ends_at=loads[-1].ends_at,
        truck_wait_min=sum(load.truck_wait_min for load in loads),
        crew_wait_min=sum(load.crew_wait_min for load in loads),
        findings=findings,
    )


def _check(
    loads_m3: Sequence[float],
    asked_min: Sequence[float],
    starts_at: datetime,
    rate_m3_h: float,
    supply: Supply,
) -> None:
    check_loads(loads_m3, rate_m3_h)
    if len(asked_min) != len(loads_m3):
        raise BadInput("asked_min", "wrong_length", "There must be one asked arrival for each load.")
    if any(later < sooner for sooner, later in pairwise(asked_min)):
        raise BadInput("asked_min", "out_of_order", "No load may be asked for before the one ahead of it.")
    require_aware("starts_at", starts_at)
    for name in ("opens_at", "closes_at"):
        moment = getattr(supply, name)
        if moment is not None:
            require_aware(name, moment)


def _load(number: int, trip: Trip, first_at: datetime) -> Load:
    def moment(minutes: float) -> datetime:
        return first_at + timedelta(minutes=minutes)

    return Load(
        number=number,
        m3=trip.m3,
        asked_at=moment(trip.asked),
        batch_at=moment(trip.batch),
        leaves_at=moment(trip.leave),
        arrives_at=moment(trip.arrive),
        starts_at=moment(trip.arrive + trip.wait),
        ends_at=moment(trip.end),
        age_min=trip.age,
        truck_wait_min=trip.wait,
        crew_wait_min=trip.crew_wait,
        truck=trip.truck,
    )


# --- what is worth saying about it ------------------------------------------------------------


def _numbers(numbers: Sequence[int]) -> str:
    return ",".join(str(number) for number in numbers)


def _in_time(trips: Sequence[Trip], supply: Supply) -> bool:
    return all(trip.age <= supply.age_limit_min + NOISE_MIN for trip in trips)


def _too_old(trips: Sequence[Trip], rate_m3_h: float, supply: Supply, place: Place) -> Iterator[Finding]:
    if _in_time(trips, supply):
        return
    limit = supply.age_limit_min
    old = [number for number, trip in enumerate(trips, start=1) if trip.age > limit + NOISE_MIN]
    minutes_left = limit - supply.loading_min - supply.haul_min
    loads_m3 = [trip.m3 for trip in trips]
    facts: dict[str, Fact] = {
        "loads": _numbers(old),
        "worst_age_min": max(trip.age for trip in trips),
        "age_limit_min": limit,
        "passing_interval_min": _passing_interval(loads_m3, rate_m3_h, supply, place),
        "largest_load_m3": max(0.0, minutes_left) * rate_m3_h / 60,
    }
    yield Finding(Severity.STOP, "load_too_old", facts, AGE_SOURCE)


def _passing_interval(
    loads_m3: Sequence[float], rate_m3_h: float, supply: Supply, place: Place
) -> int | None:
    """Least whole interval that lets no line form and no load grow too old; None when spacing cannot help.

    From one round trip upwards every truck is back in time, so the search need go no further.
    """

    def passes(interval_min: int) -> bool:
        asked_min = evenly(interval_min, len(loads_m3))
        return _in_time(truck_trips(loads_m3, asked_min, rate_m3_h, supply, place), supply)

    largest = max(loads_m3)
    least = whole_minutes(unload_min(largest, rate_m3_h) + changeover_min(place))
    most = max(least, whole_minutes(round_trip_min(largest, rate_m3_h, supply)))
    if not passes(most):
        return None
    return next((interval for interval in range(least, most) if passes(interval)), most)


def _plant_hours(loads: Sequence[Load], supply: Supply) -> Iterator[Finding]:
    first, last = loads[0], loads[-1]
    if supply.opens_at is not None and first.batch_at < (opens_at := supply.opens_at.astimezone(UTC)):
        early: dict[str, Fact] = {
            "loads": _numbers([load.number for load in loads if load.batch_at < opens_at]),
            "opens_at": opens_at,
            "first_batch_at": first.batch_at,
            "earliest_start_at": first.starts_at + (opens_at - first.batch_at),
        }
        yield Finding(Severity.STOP, "plant_not_open", early, OUR_CHOICE)
    if supply.closes_at is not None and last.batch_at > (closes_at := supply.closes_at.astimezone(UTC)):
        late: dict[str, Fact] = {
            "loads": _numbers([load.number for load in loads if load.batch_at > closes_at]),
            "closes_at": closes_at,
            "last_batch_at": last.batch_at,
            "latest_start_at": first.starts_at - (last.batch_at - closes_at),
        }
        yield Finding(Severity.STOP, "plant_closed", late, OUR_CHOICE)


def _balance(loads: Sequence[Load], supply: Supply) -> Iterator[Finding]:
    """Until when a load that makes up what is short may be called, and whether one can know by then.

    What is short is sure only when the last full load is out.
    """
    if supply.closes_at is None:
        return
    closes_at = supply.closes_at.astimezone(UTC)
    yield Finding(Severity.NOTE, "balance_deadline", {"call_by_at": closes_at}, OUR_CHOICE)
    full_m3 = FULL_LOAD_SHARE * max(load.m3 for load in loads)
    known_at = max(load.ends_at for load in loads if load.m3 >= full_m3)
    if known_at > closes_at:
        facts = {
            "call_by_at": closes_at,
            "last_full_load_ends_at": known_at,
            "latest_start_at": loads[0].starts_at - (known_at - closes_at),
        }
        yield Finding(Severity.CAUTION, "balance_after_close", facts, OUR_CHOICE)


def _waiting(loads: Sequence[Load]) -> Iterator[Finding]:
    """One truck waiting while another discharges is how a pour should run; more than one is not."""
    run_min = (loads[-1].ends_at - loads[0].starts_at) / timedelta(minutes=1)
    truck_min = sum(load.truck_wait_min for load in loads)
    if truck_min > run_min + NOISE_MIN:
        truck_facts = {
            "truck_wait_min": truck_min,
            "longest_wait_min": max(load.truck_wait_min for load in loads),
            "run_min": run_min,
        }
        yield Finding(Severity.CAUTION, "trucks_wait", truck_facts, OUR_CHOICE)


# --- a load as it really came -----------------------------------------------------------------


def age_at(batch_at: datetime | None, moment: datetime) -> float | None:
    """Age of a load in minutes, None when it cannot be told.

    Parameters
    ----------
    batch_at : datetime or None
        Batch time on the ticket; None when the ticket has none.
    moment : datetime

    Returns
    -------
    float or None
        None without a ticket time, and for a ticket time that lies after `moment`: such a time is
        a slip of the pen, and neither is ever age 0.
    """
    require_aware("moment", moment)
    if batch_at is None:
        return None
    require_aware("batch_at", batch_at)
    age = (moment.astimezone(UTC) - batch_at.astimezone(UTC)) / timedelta(minutes=1)
    return age if age >= 0 else None


def last_good_moment(batch_at: datetime, limit_min: float) -> datetime:
    """Moment, in UTC, by which a load batched at `batch_at` must be out of its truck.

    Source: ASTM C94/C94M-21, limit as stated by the purchaser or the producer.
    """
    require_aware("batch_at", batch_at)
    require_positive("limit_min", limit_min)
    return batch_at.astimezone(UTC) + timedelta(minutes=limit_min)


def load_acceptable(batch_at: datetime | None, discharge_ends_at: datetime, limit_min: float) -> LoadAge:
    """Whether a load is out of its truck within its limit; a load of unknown age is not.

    Parameters
    ----------
    batch_at : datetime or None
        Batch time on the ticket.
    discharge_ends_at : datetime
        Seen or foreseen end of discharge.
    limit_min : float

    Returns
    -------
    LoadAge
        A load that ends exactly at its limit is good.
    """
    if batch_at is None or age_at(batch_at, discharge_ends_at) is None:
        return LoadAge.AGE_UNKNOWN
    in_time = discharge_ends_at.astimezone(UTC) <= last_good_moment(batch_at, limit_min)
    return LoadAge.GOOD if in_time else LoadAge.TOO_OLD

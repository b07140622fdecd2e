"""How fast a crew places by one method, learned from what it placed: its rate, and how far days stray."""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from scipy.special import stdtrit

from scheduling.engine.inputs import BadInput, Uncertainty, require_positive

# The prior, our choice: the default rate counts as one pour, its spread as four; one pour strays a fifth.
PRIOR_POURS = 1.0
PRIOR_FREEDOM = 4.0
PRIOR_SD = 0.2
# The usual spread of one load's time counts as that of so many loads (our choice).
PRIOR_LOADS = 20.0

# What is too short to time with a thumb on a phone, or too long to be one load's work (our choice).
LEAST_LOAD_MIN, MOST_LOAD_MIN = 3.0, 240.0
LEAST_POUR_MIN = 20.0  # our choice: of a crew's own time, so that one load on a small slab teaches little
MOST_FACTOR = 3.0  # our choice: who seems three times as fast or slow as the default was noted wrongly
# Iglewicz and Hoaglin (1993), How to Detect and Handle Outliers: a modified z-score over 3.5.
MODIFIED_Z, MAD_TO_SD = 3.5, 0.6745
LEAST_FOR_OUTLIERS = 8  # our choice: of fewer nobody can say which one is odd
LEAST_DEVIATION = 0.05  # our choice: pours that agree to the minute make no outlier of the next


class LeftOut(StrEnum):
    """Why a pour teaches nothing."""

    TOO_SHORT = "too_short"
    NOT_THE_CREW = "not_the_crew"
    UNLIKELY = "unlikely"
    OUTLIER = "outlier"


@dataclass(frozen=True, slots=True)
class Emptied:
    """One load and how long the crew took from the start of its discharge to its end, waits left out."""

    m3: float
    minutes: float

    @property
    def counts(self) -> bool:
        return self.m3 > 0 and LEAST_LOAD_MIN <= self.minutes <= MOST_LOAD_MIN


@dataclass(frozen=True, slots=True, kw_only=True)
class PouredBefore:
    """A pour that is over. `default_m3_h` is what a crew by the default rates would have placed there.

    `crew_limited` is whether people set the pace: where a truck or a pump does, nothing is learned of them.
    """

    default_m3_h: float
    loads: tuple[Emptied, ...]
    crew_limited: bool = True

    def __post_init__(self) -> None:
        require_positive("default_m3_h", self.default_m3_h)

    @property
    def counted(self) -> tuple[Emptied, ...]:
        return tuple(load for load in self.loads if load.counts)

    @property
    def minutes(self) -> float:
        return math.fsum(load.minutes for load in self.counted)

    @property
    def factor(self) -> float:
        """How fast they were against the default; only where some load counts."""
        return 60 * math.fsum(load.m3 for load in self.counted) / self.minutes / self.default_m3_h


@dataclass(frozen=True, slots=True, kw_only=True)
class Learned:
    """What is believed of a crew's rate factor: the logarithm of a day's is Student's t.

    `log_factor` is the middle, `log_scale` the scale for a day's factor and `log_scale_of_mean` for what the
    crew keeps to in the long run, both with `freedom`. `load_sd` is the standard deviation of the logarithm
    of one load's time. `left_out` says of each pour why it does not count, None where it does.
    """

    pours: int
    log_factor: float
    log_scale: float
    log_scale_of_mean: float
    freedom: float
    load_sd: float
    left_out: tuple[LeftOut | None, ...]

    @property
    def factor(self) -> float:
        """How fast the crew places against the default rates."""
        return math.exp(self.log_factor)

    @property
    def unload_cv(self) -> float:
        """Standard deviation over mean of one load's time, as `Uncertainty` has it."""
        return math.sqrt(math.expm1(self.load_sd**2))

    def next_pour(self, share: float) -> tuple[float, float]:
        """Between which factors the next pour lies with that chance, as much outside on either side."""
        return self._range(share, self.log_scale)

    def long_run(self, share: float) -> tuple[float, float]:
        """The same for the factor the crew keeps to in the long run."""
        return self._range(share, self.log_scale_of_mean)

    def _range(self, share: float, scale: float) -> tuple[float, float]:
        if not 0 < share < 1:
            raise BadInput("share", "out_of_range", "share must be between 0 and 1.")
        reach = float(stdtrit(self.freedom, 0.5 + share / 2)) * scale
        return math.exp(self.log_factor - reach), math.exp(self.log_factor + reach)


def learn(pours: Sequence[PouredBefore], default_factor: float = 1.0) -> Learned:
    """Learn how fast a crew places by one method from the pours it has placed so.

    Parameters
    ----------
    pours : sequence of PouredBefore
        In any order; each that counts weighs the same, however many loads it had.
    default_factor : float
        What is believed of the crew before its first pour, more than 0.

    Returns
    -------
    Learned
        The default itself, and the usual spread, where no pour counts.

    Notes
    -----
    The logarithms of the factors are taken for normal with unknown mean and variance, with the conjugate
    prior: Gelman et al., Bayesian Data Analysis, 3rd ed. (2013), section 3.3. The prior's strength is our
    choice (`PRIOR_POURS`, `PRIOR_FREEDOM`, `PRIOR_SD`). What is left out: pours with less than
    `LEAST_POUR_MIN` of the crew's own time, where the crew did not set the pace, more than `MOST_FACTOR`
    off the default, and outliers after Iglewicz and Hoaglin (1993).
    """
    require_positive("default_factor", default_factor)
    left_out = _left_out(pours, default_factor)
    counted = [pour for pour, why in zip(pours, left_out, strict=True) if why is None]
    logs = [math.log(pour.factor) for pour in counted]
    number, prior = len(logs), math.log(default_factor)
    mean = statistics.fmean(logs) if logs else prior
    weight, freedom = PRIOR_POURS + number, PRIOR_FREEDOM + number
    squares = PRIOR_FREEDOM * PRIOR_SD**2 + math.fsum((log - mean) ** 2 for log in logs)
    squares += PRIOR_POURS * number / weight * (mean - prior) ** 2
    sd = math.sqrt(squares / freedom)
    middle = (PRIOR_POURS * prior + number * mean) / weight
    return Learned(
        pours=number,
        log_factor=middle,
        log_scale=sd * math.sqrt(1 + 1 / weight),
        log_scale_of_mean=sd / math.sqrt(weight),
        freedom=freedom,
        load_sd=_load_sd(counted, math.exp(middle)),
        left_out=left_out,
    )


def _left_out(pours: Sequence[PouredBefore], default_factor: float) -> tuple[LeftOut | None, ...]:
    alone = [_why_not(pour, default_factor) for pour in pours]
    logs = [math.log(pour.factor) for pour, why in zip(pours, alone, strict=True) if why is None]
    if len(logs) < LEAST_FOR_OUTLIERS:
        return tuple(alone)
    middle = statistics.median(logs)
    deviation = max(LEAST_DEVIATION, statistics.median(abs(log - middle) for log in logs))
    farthest = MODIFIED_Z * deviation / MAD_TO_SD
    return tuple(
        LeftOut.OUTLIER if why is None and abs(math.log(pour.factor) - middle) > farthest else why
        for pour, why in zip(pours, alone, strict=True)
    )


def _why_not(pour: PouredBefore, default_factor: float) -> LeftOut | None:
    if not pour.crew_limited:
        return LeftOut.NOT_THE_CREW
    if pour.minutes < LEAST_POUR_MIN:
        return LeftOut.TOO_SHORT
    if abs(math.log(pour.factor / default_factor)) > math.log(MOST_FACTOR):
        return LeftOut.UNLIKELY
    return None


def _load_sd(pours: Sequence[PouredBefore], factor: float) -> float:
    """About what the crew is now believed to take; drawn towards the usual spread of a load's time."""
    usual = math.log1p(Uncertainty().unload_cv ** 2)
    logs = [
        math.log(60 * load.m3 / load.minutes / (factor * pour.default_m3_h))
        for pour in pours
        for load in pour.counted
    ]
    squares = PRIOR_LOADS * usual + math.fsum(log**2 for log in logs)
    return math.sqrt(squares / (PRIOR_LOADS + len(logs)))

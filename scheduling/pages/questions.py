"""What people commonly mix up when they book: asked about, with what each answer changes, never guessed."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from difflib import SequenceMatcher
from urllib.parse import urlencode

from django.db.models import QuerySet

from scheduling.models import Job, Pour, Units
from scheduling.pages.clock import long_day
from scheduling.pages.forms import BookingForm
from scheduling.pages.slabs import SectionForm
from scheduling.pages.wording import Words
from scheduling.queries.bookings import jobs_called, pours_on

INCH = 0.0254
# What a board is called and how wide it is, inches: American Softwood Lumber Standard PS 20.
BOARDS = {4: ("2x4", "3 1/2", 3.5), 6: ("2x6", "5 1/2", 5.5), 8: ("2x8", "7 1/4", 7.25)}
LEAST_PERCENT = 4  # NRMCA CIP 8
THICK_M = 0.6  # our choice: a slab on the ground as thick as that is a slip more often than a footing
LATE, EARLY = 17, 4  # our choice: hours between which a first truck needs no asking
ALIKE = 0.8  # our choice: “Lot 4 Birch” and “Lot 14 Birch” are 0.96, “Barn floor” and “Shop floor” 0.7
_YARDS = re.compile(r"^\s*([\d\s./,]+?)\s*(?:yd|yds|yard|yards)\s*$", re.IGNORECASE)
_INCHES = re.compile(r"^\s*([\d\s./,]+?)\s*(?:in|inch|inches|\"|”|″)\s*$", re.IGNORECASE)
_FEET = re.compile(r"^\s*([\d\s./,]+?)\s*(?:ft|foot|feet|'|’|′)\s*$", re.IGNORECASE)


@dataclass(frozen=True)
class Answer:
    """A button, and what it fills in: names and values as a query string."""

    label: str
    fill: str


@dataclass(frozen=True)
class Question:
    """`key` names it together with what it asks about, so that another entry is asked about afresh."""

    key: str
    words: str
    answers: tuple[Answer, ...]

    @property
    def settle(self) -> str:
        """What the button that leaves things as typed fills in."""
        return urlencode({"settled": self.key})


def questions_of(
    form: BookingForm, sections: Sequence[SectionForm], words: Words, settled: Sequence[str]
) -> list[Question]:
    """What is to be asked about an entry, as far as it can be read; what was answered is not asked again."""
    asked = [
        *(one for section in sections for one in _of_section(section, words)),
        *_of_slope(form, sections),
        *_of_allowance(form),
        *_of_time(form, words),
        *_of_day(form, words),
        *_of_names(form, words),
    ]
    return [question for question in asked if question.key not in settled]


def _ask(key: str, words: str, *answers: tuple[str, Mapping[str, str]]) -> Question:
    return Question(key, words, tuple(Answer(label, urlencode(fill)) for label, fill in answers))


# --- the slab ---------------------------------------------------------------------------------


def _of_section(section: SectionForm, words: Words) -> Iterator[Question]:
    yield from _other_units(section)
    said = getattr(section, "cleaned_data", {})
    depth_m = said.get("depth_m")
    if depth_m is None or said.get("depth_kind") == "spots":
        return
    yield from _feet_thick(section, depth_m)
    if words.units == Units.US and said.get("drawn_depth_m") is None:
        yield from _nominal(section, depth_m, words)
    if said.get("depth_kind") == "falling_top" and said.get("fall_m"):
        yield _ask(
            f"{section.prefix} base {section['fall_m'].value()}",
            f"The top falls {words.depth(said['fall_m'])} over a flat base, so the slab is thicker at "
            "the high edge. Does the base fall with it?",
            ("The base falls too", {section.add_prefix("depth_kind"): "falling_base"}),
        )


def _nominal(section: SectionForm, depth_m: float, words: Words) -> Iterator[Question]:
    """A slab called four inch is as thick as its forms are high."""
    inches = depth_m / INCH
    board = BOARDS.get(round(inches)) if abs(inches - round(inches)) < 0.01 else None
    if board is None:
        return
    name, actual, width_in = board
    typed = str(section["depth_m"].value())
    yield _ask(
        f"{section.prefix} forms {typed}",
        f"How high are the forms? A {name} on edge is {actual} in, and what is called {round(inches)} inch "
        f"is often poured that thick{_difference(section, depth_m, width_in * INCH, words)}.",
        (
            f"{actual} in, {name} forms",
            {
                section.add_prefix("depth_m"): f"{actual} in",
                section.add_prefix("drawn_depth_m"): f"{round(inches)} in",
            },
        ),
    )


def _difference(section: SectionForm, depth_m: float, thin_m: float, words: Words) -> str:
    """What the two thicknesses take, where that is length by width by thickness."""
    said = section.cleaned_data
    long_m, wide_m = said.get("length_m"), said.get("width_m")
    if said.get("shape") != "rectangle" or not long_m or not wide_m:
        return ""
    area_m2 = long_m * wide_m
    return f": {words.volume(area_m2 * thin_m)} instead of {words.volume(area_m2 * depth_m)}"


def _feet_thick(section: SectionForm, depth_m: float) -> Iterator[Question]:
    typed = str(section["depth_m"].value())
    feet = _FEET.match(typed)
    if feet or depth_m >= THICK_M:
        answers = [(f"{feet[1]} in", {section.add_prefix("depth_m"): f"{feet[1]} in"})] if feet else []
        yield _ask(f"{section.prefix} thick {typed}", f"Is the slab really {typed} thick?", *answers)


def _other_units(section: SectionForm) -> Iterator[Question]:
    """Lengths are said in feet; one in yards or in inches alone may be a slip."""
    for name in ("length_m", "side_b_m", "width_m", "diameter_m"):
        typed = str(section[name].value() or "")
        slip = _YARDS.match(typed) or _INCHES.match(typed)
        if slip:
            label = str(section.fields[name].label).lower()
            yield _ask(
                f"{section.prefix} {name} {typed}",
                f"The {label} says {typed}. Is it {slip[1]} ft?",
                (f"{slip[1]} ft", {section.add_prefix(name): f"{slip[1]} ft"}),
            )


def _of_slope(form: BookingForm, sections: Sequence[SectionForm]) -> Iterator[Question]:
    if not form.cleaned_data.get("slope"):
        return
    for section in sections:
        if section.cleaned_data.get("depth_kind") == "uniform" and section.cleaned_data.get("depth_m"):
            name = section.add_prefix("depth_kind")
            yield _ask(
                f"{section.prefix} level {form['slope'].value()}",
                "The top slopes, and the slab is said to be level. Does the base fall with the top?",
                ("Base and top fall together", {name: "falling_base"}),
                ("The base is flat", {name: "falling_top"}),
            )
            return


def _of_allowance(form: BookingForm) -> Iterator[Question]:
    """Half a yard short costs a plant's minimum load and the wait for it (NRMCA CIP 8 allows 4 to 10 %)."""
    percent = form.cleaned_data.get("allowance_value")
    if (
        form.cleaned_data.get("allowance_kind") == "percent"
        and percent is not None
        and percent < LEAST_PERCENT
    ):
        yield _ask(
            f"allowance {percent:g}",
            f"Only {percent:g} % over? The base and the forms usually take 4 to 10 %, and running short "
            "means another small load and the wait for it.",
            ("Allow 5 %", {"allowance_value": "5"}),
        )


# --- day and time -----------------------------------------------------------------------------


def _of_time(form: BookingForm, words: Words) -> Iterator[Question]:
    time = form.cleaned_data.get("time")
    if time is None or EARLY <= time.hour < LATE:
        return
    other = time.replace(hour=(time.hour + 12) % 24)
    said, half = _clock(time.hour, time.minute, words), _clock(other.hour, other.minute, words)
    yield _ask(
        f"time {time:%H:%M}",
        f"First truck at {said}, {'in the evening' if time.hour >= LATE else 'in the night'}?",
        (f"{half}", {"time": f"{other:%H:%M}"}),
    )


def _clock(hour: int, minute: int, words: Words) -> str:
    if words.units == Units.METRIC:
        return f"{hour:02}:{minute:02}"
    return f"{hour % 12 or 12}:{minute:02} {'am' if hour < 12 else 'pm'}"


def _of_day(form: BookingForm, words: Words) -> Iterator[Question]:
    day = form.cleaned_data.get("day")
    if day is None:
        return
    rest = holiday(day) if words.units == Units.US else ""
    if not rest and day.weekday() != 6:
        return
    after = next(one for one in _days_after(day) if one.weekday() != 6 and not holiday(one))
    yield _ask(
        f"day {day}",
        f"{long_day(day, words.units)} is {rest or 'a Sunday'}. Is that the day?",
        (long_day(after, words.units), {"day": str(after)}),
    )


def _days_after(day: date) -> Iterator[date]:
    return (day + timedelta(days=n) for n in range(1, 8))


def holiday(day: date) -> str:
    """The US holidays on which hardly any plant batches (days as in 5 U.S.C. 6103); empty on other days."""
    fixed = {(1, 1): "New Year’s Day", (7, 4): "Independence Day", (12, 25): "Christmas Day"}
    which_week = (day.day - 1) // 7 + 1
    match (day.month, day.weekday()):
        case (5, 0) if day.day > 24:
            return "Memorial Day"
        case (9, 0) if which_week == 1:
            return "Labor Day"
        case (11, 3) if which_week == 4:
            return "Thanksgiving Day"
    return fixed.get((day.month, day.day), "")


# --- sites with nearly the same name ----------------------------------------------------------


def _of_names(form: BookingForm, words: Words) -> Iterator[Question]:
    job, day = form.cleaned_data.get("job"), form.cleaned_data.get("day")
    if isinstance(job, Job) and day is not None:
        yield from _near_site(job, pours_on(day, job.site.time_zone), words)
    name = form.cleaned_data.get("new_job_name") if job == "new" else ""
    for kept in jobs_called(name) if name else ():
        yield _ask(
            f"job {kept.pk}",
            f"There is already a job {kept.name}, {kept.site.address}. Is it that one?",
            ("Yes, that one", {"job": str(kept.pk)}),
        )


def _near_site(job: Job, pours: QuerySet[Pour], words: Words) -> Iterator[Question]:
    """Trucks sent to the wrong one of two lots: both are named with their addresses."""
    others = {pour.job.site_id: pour.job for pour in pours.exclude(job__site=job.site_id)}
    for other in others.values():
        if alike(job.site.name, other.site.name) or alike(job.name, other.name):
            yield _ask(
                f"sites {job.pk} {other.pk}",
                f"That day there is also {other.name}, {other.site.address}. "
                f"Is this one for {job.name}, {job.site.address}?",
                (f"No, for {other.name}", {"job": str(other.pk)}),
            )


def alike(one: str, other: str) -> bool:
    """Whether two names are easily taken for each other."""
    return SequenceMatcher(None, one.casefold(), other.casefold(), autojunk=False).ratio() >= ALIKE


def unasked(questions: Sequence[Question], shown: Sequence[str]) -> list[Question]:
    """Those that whoever presses Book has not seen yet."""
    return [question for question in questions if question.key not in shown]

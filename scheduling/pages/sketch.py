"""The plan in few words, as far as what is typed allows: shown beside the form while it is filled in."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from scheduling.models import Pour
from scheduling.pages.brief import KeyTime, arrivals, clock_after, key_times, loads_words, moment
from scheduling.pages.clashes import ClashWords, site_zone
from scheduling.pages.drawings import LayoutDrawing
from scheduling.pages.plans import SAID_OF_EVERY_POUR, STAGES, FindingWords, finding_words, joint_layouts
from scheduling.pages.questions import Question
from scheduling.pages.wording import Words
from scheduling.quantities import Dimension
from scheduling.sentences.arrivals import Arrivals

Json = Mapping[str, Any]
READ_AT_ONCE = 3  # our choice: more of them push the drawing and the other starts out of sight
# What a slab tells of itself, whatever the day, the mix and the crew.
OF_THE_SLAB = frozenset(
    {"thin_allowance", "generous_allowance", "spread_needs_spots", "depth_differs_from_drawing"}
)


@dataclass(frozen=True)
class Known:
    """What has been said so far; the rest of the plan stands on stand-ins and is not told."""

    mix: bool
    when: bool
    missing: tuple[str, ...]


@dataclass(frozen=True)
class Sketch:
    """A plan on a few lines, or how far it is from one."""

    sentence: str
    facts: tuple[KeyTime, ...] = ()
    drawings: tuple[LayoutDrawing, ...] = ()
    questions: tuple[Question, ...] = ()
    findings: tuple[FindingWords, ...] = ()
    missing: str = ""
    is_whole: bool = False

    @property
    def first_findings(self) -> tuple[FindingWords, ...]:
        """All that stops a pour, and cautions while there is room; they come gravest first."""
        stops = sum(finding.severity == "stop" for finding in self.findings)
        room = max(stops, READ_AT_ONCE)
        # One alone takes no more room than the line that would fold it away.
        return self.findings if len(self.findings) == room + 1 else self.findings[:room]

    @property
    def more_findings(self) -> tuple[FindingWords, ...]:
        return self.findings[len(self.first_findings) :]


def nothing_yet(questions: Sequence[Question]) -> Sketch:
    return Sketch(
        "Give a length, a width and a thickness, and the plan begins here.", questions=tuple(questions)
    )


def cannot_be(message: str, questions: Sequence[Question]) -> Sketch:
    return Sketch(message, questions=tuple(questions))


def sketch(
    pour: Pour,
    result: Json,
    sections: Sequence[Json],
    known: Known,
    order_by: datetime,
    questions: Sequence[Question],
    clashes: Sequence[ClashWords],
    words: Words,
) -> Sketch:
    """The plan of `result` in few words; `sections` are the slab's columns in the plan's order."""
    whole = not known.missing
    return Sketch(
        sentence=_sentence(pour, result, known, clashes, words),
        facts=tuple(_facts(pour, result, known, order_by, words)),
        drawings=tuple(joint_layouts(result["sawing"], sections, words)),
        questions=tuple(questions),
        findings=tuple(_findings(pour, result, known, words)),
        missing="" if whole else f"Still to say: {_listed(known.missing)}.",
        is_whole=whole,
    )


def _sentence(pour: Pour, result: Json, known: Known, clashes: Sequence[ClashWords], words: Words) -> str:
    """Quantity, loads, spacing, trowel and cut, as one would say them on the phone."""
    quantity = result["quantity"]
    if not known.mix:
        return f"{words.volume(quantity['net_m3'])} fill the forms."
    parts = [f"Order {words.ordered(quantity['order_m3'])}: {loads_words(quantity['loads_m3'], words)}"]
    parts += _trucks_words(result)
    if known.when:
        zone, ready = site_zone(pour), result["first_set"]["float_ready"]
        early, late = moment(ready["early"]), moment(ready["late"])
        parts.append(f"takes a trowel {words.about_from_to(early, late, zone)}")
        if result["sawing"]["opens_at"]:
            opens = clock_after(moment(result["sawing"]["opens_at"]), pour.starts_at, zone, words)
            parts.append(f"first cut about {opens}")
    if clashes:
        parts.append("it clashes with what is booked" if len(clashes) == 1 else f"{len(clashes)} clashes")
    return f"{'; '.join(parts)}."


def _trucks_words(result: Json) -> list[str]:
    asked = arrivals(result)
    if asked.loads < 2:
        return []
    return [_apart(asked)]


def _apart(asked: Arrivals) -> str:
    if asked.first_together >= asked.loads:
        return "all trucks together"
    apart = f"trucks {asked.interval_min or asked.next_after_min:g} min apart"
    return f"{asked.first_together} trucks at once, then {apart}" if asked.first_together > 1 else apart


def _facts(pour: Pour, result: Json, known: Known, order_by: datetime, words: Words) -> Iterator[KeyTime]:
    quantity, line = result["quantity"], result["line"]
    share = f"{100 * quantity['allowance_m3'] / quantity['net_m3']:.3g} % over"
    yield KeyTime("Fills the forms", words.volume(quantity["net_m3"]), words.area(quantity["area_m2"]))
    if not known.mix:
        return
    yield KeyTime("Order", words.ordered(quantity["order_m3"]), share)
    rate = words.amount(line["rate_m3_h"], Dimension.VOLUME_RATE)
    yield KeyTime("Places", rate, f"{STAGES.get(line['limited_by'], '')} sets the pace")
    yield _trucks(result)
    if known.when:
        yield from key_times(pour, result, order_by, words)


def _trucks(result: Json) -> KeyTime:
    spacing, asked = result["spacing"], arrivals(result)
    if asked.loads < 2:
        return KeyTime("Trucks", "one", "it brings it all")
    needed = spacing["trucks_needed"]
    apart = f"{needed} truck{'s' if needed > 1 else ''} keep{'' if needed > 1 else 's'} that up"
    return KeyTime("Loads", _apart(asked).removeprefix("trucks "), apart)


def _findings(pour: Pour, result: Json, known: Known, words: Words) -> Iterator[FindingWords]:
    """What to look out for, without what is said of every pour or hangs on what is not known yet."""
    zone = site_zone(pour)
    for finding in result["findings"]:
        news = finding["severity"] != "note" and finding["code"] not in SAID_OF_EVERY_POUR
        if news and (not known.missing or finding["code"] in OF_THE_SLAB):
            yield finding_words(finding, zone, words)


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"

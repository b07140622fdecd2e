"""A finding of the engine in one or two plain sentences: what is the matter, then what to do about it."""

from collections.abc import Iterator, Mapping
from zoneinfo import ZoneInfo

from scheduling.quantities import UnitSystem
from scheduling.sentences import cold, live, people, placing, safety, slab, starts, trucks, weather
from scheduling.sentences.told import MissingFact, Sentence, Told

SENTENCES: Mapping[str, Sentence] = {
    **slab.SENTENCES,
    **trucks.SENTENCES,
    **placing.SENTENCES,
    **people.SENTENCES,
    **weather.SENTENCES,
    **cold.SENTENCES,
    **starts.SENTENCES,
    **safety.SENTENCES,
    **live.SENTENCES,
}

_UNITS = {"at", "m", "m2", "m3", "c", "kg", "s", "min", "h", "mm", "percent", "fraction"}


def say(code: str, facts: Mapping[str, object], system: UnitSystem, zone: ZoneInfo) -> str:
    """Word a finding for a reader.

    Parameters
    ----------
    code : str
        What the finding is. A code without a sentence is worded from its facts, and so is one
        whose facts are not those its sentence wants: a plan may have been kept by an older engine.
    facts : mapping
        SI values under names that carry their unit; moments as datetimes or as ISO 8601 text.
    system : UnitSystem
        Of the reader: units, and with metric ones a clock of 24 hours.
    zone : ZoneInfo
        Of the clock that times are read on.

    Returns
    -------
    str
    """
    told = Told(facts, system, zone)
    sentence = SENTENCES.get(code)
    if sentence is None:
        return _plainly(code, facts, told)
    try:
        return sentence.format_map(told) if isinstance(sentence, str) else sentence(told)
    except MissingFact:
        return _plainly(code, facts, told)


def _plainly(code: str, facts: Mapping[str, object], told: Told) -> str:
    """``Slab tilts: angle 3, drop 2 in.``"""
    known = ", ".join(f"{_bare(name)} {told[name]}" for name in _worth_saying(facts))
    words = code.replace("_", " ").capitalize()
    return f"{words}: {known}." if known else f"{words}."


def _worth_saying(facts: Mapping[str, object]) -> Iterator[str]:
    return (name for name, value in facts.items() if value is not None)


def _bare(name: str) -> str:
    """The name without the unit it ends in, which the value says."""
    words = name.split("_")
    while len(words) > 1 and words[-1] in _UNITS:
        words.pop()
    return " ".join(words)

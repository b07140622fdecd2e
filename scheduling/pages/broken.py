"""A rule that a week breaks, as a person reads it."""

from collections.abc import Iterable
from dataclasses import dataclass
from math import ceil, floor

from scheduling.pages.clashes import ClashingPour, clashing_pour, site_zone
from scheduling.pages.clock import day_words
from scheduling.pages.wording import Words
from scheduling.queries.clashes import NOT_KEPT
from scheduling.queries.weekrules import BrokenRule

RULES = {
    "gear_short": "{who}: {needed} needed at once, {available} there",
    "too_far": "{who}: {needed} min by road between the sites, {available} min are left for it",
    "plant_rate": "{who}: {share} of what it can batch is asked of it",
    "outside_loud_hours": "loud work outside the hours {who} allows it in",
    "order_not_called": "the order is not called in, and the time to call is past",
    "long_day": "{who}: {needed} h of work for each, and {available} h are the most",
    "short_rest": "{who}: {available} h of rest from one day to the next, and {needed} h are the least",
    "people_away": "{who}: {needed} people needed, {available} there while others are on leave",
    "crew_away": "{who} is away",
    "skill_missing": "nobody of {who} who is there can do it",
    "plant_shut": "{who} does not batch then",
    "plant_unasked": "a holiday: ask {who} whether it batches",
    "outside_permit": "work outside the hours that {who} permits",
    "placed_in_the_dark": "placed in the dark",
    "road_season": "{who}: loads too heavy for the road in this season",
    "promise_broken": "later than was promised to the customer",
    "unit_out_of_use": "{who} is out of use",
    "worker_away": "{who} is away",
    "holiday": "a holiday",
    "forms_not_released": "the forms are not released",
    "inspection_open": "the inspection is still to come",
}
MOST_SHOWN = 3  # of a kind; the rest is folded away


@dataclass(frozen=True)
class BrokenWords:
    severity: str
    day: str
    when: str
    what: str
    pours: tuple[ClashingPour, ...]
    key: str  # to ask for cures; empty for a pour that is not booked


@dataclass(frozen=True)
class BrokenKind:
    """One thing that is wrong, and each time it is."""

    severity: str
    what: str
    shown: tuple[BrokenWords, ...]
    folded: tuple[BrokenWords, ...]


def broken_kinds(rules: Iterable[BrokenRule], words: Words) -> list[BrokenKind]:
    """What forbids a pour first, else in order of time; what is said of many is said once."""
    told: dict[tuple[str, str], list[BrokenWords]] = {}
    for one in (broken_words(rule, words) for rule in rules):
        told.setdefault((one.severity, one.what), []).append(one)
    kinds = [
        BrokenKind(*key, tuple(ones[:MOST_SHOWN]), tuple(ones[MOST_SHOWN:])) for key, ones in told.items()
    ]
    return sorted(kinds, key=lambda kind: kind.severity != "stop")


def broken_words(rule: BrokenRule, words: Words) -> BrokenWords:
    zone = site_zone(rule.pours[-1])
    share = rule.needed / rule.available if rule.available else 0.0
    what = RULES.get(rule.code, "{who}: " + rule.code.replace("_", " "))
    # Rounded away from each other: what falls short must not read as if it sufficed.
    needed, available = ceil(10 * rule.needed) / 10, floor(10 * rule.available) / 10
    said = what.format(who=rule.who, needed=f"{needed:g}", available=f"{available:g}", share=f"{share:.0%}")
    return BrokenWords(
        severity=rule.severity,
        day=day_words(rule.starts_at.astimezone(zone).date(), words.units),
        when=words.from_to(rule.starts_at, rule.ends_at, zone),
        what=said[:1].upper() + said[1:],
        pours=tuple(clashing_pour(pour, words.units, pour.pk == NOT_KEPT) for pour in rule.pours),
        key="" if any(pour.pk == NOT_KEPT for pour in rule.pours) else rule.key,
    )

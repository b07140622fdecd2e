"""What goes wrong with a day under way, as the phone of its lead says it in the language spoken just now."""

from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from scheduling.quantities import UnitSystem
from scheduling.sentences import say
from scheduling.texting import phone as words

Json = Mapping[str, Any]


def alert_words(finding: Json, units: UnitSystem, zone: ZoneInfo) -> str:
    """What stands here is said in the reader's language; anything newer is said as on the pages."""
    worded = ALERTS.get(finding["code"])
    facts = finding["facts"]
    return worded(facts, zone) if worded else say(finding["code"], facts, units, zone)


def _on_site(said: str | datetime, zone: ZoneInfo) -> datetime:
    moment = datetime.fromisoformat(said) if isinstance(said, str) else said
    return moment.astimezone(zone)


def _expires(facts: Json, zone: ZoneInfo) -> str:
    if facts["age_min"] > facts["age_limit_min"]:
        return words.load_expires(facts["load"], round(facts["age_min"]), round(facts["age_limit_min"]))
    return words.load_will_expire(facts["load"], _on_site(facts["good_until_at"], zone))


def _gap(facts: Json, zone: ZoneInfo) -> str:
    over = facts["dry_min"] > facts["cold_joint_min"]
    return words.gap(round(facts["dry_min"]), None if over else _on_site(facts["bulkhead_by_at"], zone))


def _missing(facts: Json, zone: ZoneInfo) -> str:
    return words.truck_missing(facts["load"], _on_site(facts["asked_at"], zone), round(facts["late_min"]))


ALERTS: dict[str, Callable[[Json, ZoneInfo], str]] = {
    "load_expires": _expires,
    "load_age_unknown": lambda facts, _: words.load_age_unknown(facts["load"]),
    "gap_growing": _gap,
    "gap_too_long": _gap,
    "truck_missing": _missing,
}

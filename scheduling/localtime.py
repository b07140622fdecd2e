"""Clock times as people say them, made into moments. Twice a year some do not exist and some come twice."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from scheduling.errors import Refusal


def moment_of(wall: datetime, zone: ZoneInfo, field: str = "") -> datetime:
    """The moment, in UTC, that a clock on the wall in `zone` shows `wall`.

    A `wall` that carries its own offset is that moment, whatever the zone.

    Raises
    ------
    Refusal
        `skipped_time` where the clock jumps over it, `doubled_time` where it comes twice and no offset
        says which is meant.
    """
    if wall.tzinfo is not None:
        return wall.astimezone(UTC)
    first, second = (wall.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
    if first.utcoffset() != second.utcoffset():
        said = f"{wall:%Y-%m-%d %H:%M}"
        if first.astimezone(UTC).astimezone(zone).replace(tzinfo=None) != wall:
            raise Refusal(
                f"{said} does not exist in {zone.key}: the clocks go forward over it.",
                code="skipped_time",
                field=field,
            )
        raise Refusal(
            f"{said} comes twice in {zone.key}: say which with an offset such as {second:%z}.",
            code="doubled_time",
            field=field,
        )
    return first.astimezone(UTC)

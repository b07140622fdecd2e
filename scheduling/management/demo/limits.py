"""What limits the demo's week: a row or two of each kind, so that its pages have something to say of them."""

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from scheduling.models import Absence, FeeDay, PaperKind, Plant, PlantFee, Pour, User, Worker
from scheduling.services import papers

AWAY, AWAY_DAY = "Dario Munk", 3  # of Birch, on the day it needs all six
WATCHED = "drive"  # the town looks at its forms, or no concrete comes
DEAR_ON_SATURDAYS, SATURDAY_FEE = "Quarry Road", 180.0


def limit_week(monday: date, zone: ZoneInfo, by: User, now: datetime) -> None:
    """Somebody on leave, a plant that is dear on Saturdays, an inspection that is open."""
    starts_at = datetime.combine(monday + timedelta(days=AWAY_DAY), time(), zone)
    away = {"ends_at": starts_at + timedelta(days=1), "reason": "A wedding"}
    Absence.objects.get_or_create(worker=Worker.objects.get(name=AWAY), starts_at=starts_at, defaults=away)
    PlantFee.objects.get_or_create(
        plant=Plant.objects.get(name=DEAR_ON_SATURDAYS), day=FeeDay.SATURDAY, defaults={"flat": SATURDAY_FEE}
    )
    watched = Pour.objects.get(title=WATCHED, starts_at__gte=datetime.combine(monday, time(), zone))
    papers.ask(pour=watched, kind=PaperKind.INSPECTION, by=by, now=now)

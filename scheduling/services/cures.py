"""What cures a clash or a broken rule: changes planned anew and tried on the week, not guesses."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from scheduling import bridge
from scheduling.engine.dayplan import plan_pour as ask_engine
from scheduling.engine.inputs import BadInput
from scheduling.engine.weekbook import Work
from scheduling.engine.weekconflicts import find_conflicts
from scheduling.engine.weekcures import ACTS, Change, Cure, Remedy, cures_for
from scheduling.errors import Refusal
from scheduling.models import Company, Crew, Pour
from scheduling.queries.clashes import clash_key
from scheduling.queries.forecasts import age_h, forecast_for
from scheduling.queries.weekhours import plant_open_on
from scheduling.queries.weekrules import KeptWeek, kept_week
from scheduling.services import rates
from scheduling.services.weekstarts import DAYS_OF_A_TRY, planned_work, takes_orders_for

NEAR = timedelta(days=6)  # a cure may move a pour by days, and must not run into anything there


@dataclass(frozen=True)
class TriedCure:
    """A change that was planned and found to cure it without bringing anything new, or what is to be done.

    `starts_at`, `crew` and `saw` are what the pour would then say; `borrowed` people come from `crew`.
    What `is_act` leaves the pour as it is; `by_at` is until when it is to be done, where that is known.
    """

    pour: Pour
    remedy: str
    starts_at: datetime
    crew: Crew | None
    saw: str
    borrowed: int = 0
    is_act: bool = False
    by_at: datetime | None = None


def cures(*, key: str, now: datetime) -> list[TriedCure]:
    """Up to three cures of what stands under that key, each of another kind.

    Raises
    ------
    Refusal
        If it no longer stands: a pour of it has changed.
    """
    pours = Pour.objects.filter(pk__in=_pours_of(key)).order_by("starts_at")
    moments = list(pours.values_list("starts_at", flat=True))
    if not moments:
        raise Refusal("That clash is gone: somebody changed a pour of it.", code="clash_gone", field="clash")
    kept = kept_week(moments[0] - NEAR, moments[-1] + NEAR)
    found = (one for one in find_conflicts(kept.book, now) if clash_key(one, kept.pours) == key)
    conflict = next(found, None)
    if conflict is None:
        raise Refusal("That clash is gone: somebody changed a pour of it.", code="clash_gone", field="clash")
    tries = _Tries(kept, now)
    movable = [pk for pk in conflict.pours if kept.pours[pk].starts_at > now]
    return [tries.told(cure) for cure in cures_for(conflict, kept.book, tries.plan, movable)]


def _pours_of(key: str) -> list[int]:
    """The pours a key names, whatever their versions."""
    parts = (part.partition(".") for part in key.split(":"))
    return [int(pk) for pk, _, version in parts if pk.isdecimal() and version.isdecimal() and len(pk) < 19]


class _Tries:
    """Plans a pour of the week under a change."""

    def __init__(self, kept: KeptWeek, now: datetime) -> None:
        self.kept, self.now = kept, now
        self.company = Company.objects.get()
        self.crews = {str(crew.pk): crew for crew in Crew.objects.filter(pk__in=map(int, kept.book.people))}
        self.kinds = {unit.kind for unit in kept.book.units}
        self.by_at = {paper.pour: paper.call_by_at for paper in kept.book.papers}

    def plan(self, change: Change) -> tuple[Work, ...] | None:
        pour = self.changed(change)
        if pour is None or pour.starts_at <= self.now:
            return None
        forecast = forecast_for(pour.job.site, pour.starts_at, self.now)
        hours = bridge.forecast_hours(forecast.hours) if forecast else ()
        age = age_h(forecast, self.now) if forecast else None
        try:
            sections = bridge.kept_sections(pour)
            learned = rates.learned_for(pour, self.now)
            request = bridge.pour_request(pour, self.company, sections, hours, (), age, learned)
            plan = ask_engine(request, DAYS_OF_A_TRY)
        except BadInput:
            return None
        return planned_work(plan, pour, self.kinds)

    def changed(self, change: Change) -> Pour | None:
        """The pour as it would then say; None where that is no change of it."""
        kept = self.kept.pours[change.pour]
        pour = Pour.objects.select_related("job__site", "plant", "mix", "crew").get(pk=kept.pk)
        match change.remedy:
            case Remedy.LATER:
                pour.starts_at += timedelta(minutes=change.by)
            case Remedy.EARLIER:
                pour.starts_at -= timedelta(minutes=change.by)
            case Remedy.OTHER_DAY:
                zone = ZoneInfo(pour.job.site.time_zone)
                wall = pour.starts_at.astimezone(zone) + timedelta(days=change.by)
                day = wall.date()
                open_then = plant_open_on(pour.plant, self.company, day)
                if not (open_then and takes_orders_for(pour, day, self.now)):
                    return None
                pour.starts_at = wall.astimezone(UTC)
            case Remedy.OTHER_CREW:
                pour.crew = self.crews.get(change.crew)
            case Remedy.EARLY_SAW:
                if pour.saw == "early_entry":
                    return None
                pour.saw = "early_entry"
        return pour

    def told(self, cure: Cure) -> TriedCure:
        change = cure.change
        pour = self.changed(change) or self.kept.pours[change.pour]
        borrowed = change.by if change.remedy is Remedy.BORROW else 0
        return TriedCure(
            pour,
            change.remedy.value,
            pour.starts_at,
            self.crews.get(change.crew) if borrowed else pour.crew,
            pour.saw,
            borrowed,
            is_act=change.remedy in ACTS,
            by_at=self.by_at.get(change.pour) if change.remedy is Remedy.CALL_ORDER else None,
        )

"""Two plans of a pour side by side: what differs said in words, and why the newer one was made."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from scheduling.models import Company, Plan, Pour
from scheduling.pages.access import needs, pour_or_404
from scheduling.pages.brief import arrivals, moment
from scheduling.pages.clashes import pour_name, site_zone
from scheduling.pages.clock import lasting
from scheduling.pages.history import why_planned
from scheduling.pages.plans import FindingWords, finding_words, weather_words
from scheduling.pages.wording import Words, about
from scheduling.quantities import Dimension
from scheduling.roles import Right

Json = Mapping[str, Any]

A_MINUTE = timedelta(minutes=1)


@dataclass(frozen=True)
class Compared:
    """One thing both plans say; `differs` is how, in words, empty where it is the same."""

    what: str
    old: str
    new: str
    differs: str


@dataclass(frozen=True)
class PlanSide:
    number: int
    made: str
    why: str
    stands: bool


@dataclass(frozen=True)
class TwoPlans:
    old: PlanSide
    new: PlanSide
    rows: tuple[Compared, ...]
    come: tuple[FindingWords, ...]
    gone: tuple[FindingWords, ...]

    @property
    def sides(self) -> tuple[PlanSide, PlanSide]:
        return self.old, self.new

    @property
    def said(self) -> str:
        many = sum(bool(row.differs) for row in self.rows)
        if not many and not self.come and not self.gone:
            return "Both plans say the same."
        return f"{many} of {len(self.rows)} things differ."


@needs(Right.SEE_WEEK)
def plan_versions(request: HttpRequest, pk: int) -> HttpResponse:
    """`?old=1&new=3`; the last two where nothing is asked for."""
    pour = pour_or_404(request, pk)
    numbers = list(pour.plans.order_by("number").values_list("number", flat=True))
    if not numbers:
        raise Http404
    old = _asked(request, "old", numbers, numbers[max(0, len(numbers) - 2)])
    new = _asked(request, "new", numbers, numbers[-1])
    kept = {plan.number: plan for plan in pour.plans.filter(number__in=(old, new))}
    words = Words.of(Company.objects.first())
    shown = {
        "pk": pk,
        "name": pour_name(pour),
        "numbers": numbers,
        "both": _both(pour, kept[old], kept[new], words),
    }
    return render(request, "pages/plan_versions.html", shown)


def _asked(request: HttpRequest, name: str, numbers: Sequence[int], usual: int) -> int:
    said = request.GET.get(name, "")
    if not said:
        return usual
    if not said.isdecimal() or int(said) not in numbers:
        raise Http404
    return int(said)


def _both(pour: Pour, old: Plan, new: Plan, words: Words) -> TwoPlans:
    zone, events = site_zone(pour), list(pour.events.all())
    sides = [
        PlanSide(
            number=plan.number,
            made=words.day_and_time(plan.made_at, zone),
            why=why_planned(plan.number, events, zone, words),
            stands=plan.pk == pour.plan_id,
        )
        for plan in (old, new)
    ]
    first, second = sides
    return TwoPlans(
        old=first,
        new=second,
        rows=tuple(_rows(old, new, zone, words)),
        come=tuple(_only_in(new.result, old.result, zone, words)),
        gone=tuple(_only_in(old.result, new.result, zone, words)),
    )


def _rows(old: Plan, new: Plan, zone: ZoneInfo, words: Words) -> Iterator[Compared]:
    """The order, the trucks, the people, then the slab, as the day goes."""
    plans = (old, new)

    def times(what: str, of: Callable[[Plan], datetime], *, rough: bool = False) -> Compared:
        return _times(what, of(old), of(new), zone, words, rough=rough)

    def said(what: str, of: Callable[[Plan], str]) -> Compared:
        return Compared(what, of(old), of(new), "" if of(old) == of(new) else "changed")

    yield _amounts("To order", old.order_m3, new.order_m3, words)
    yield _counts("Loads", old.loads, new.loads)
    yield said("Asked for", lambda plan: arrivals(plan.result).spoken("the start"))
    yield times("Crew on site", lambda plan: plan.call_at)
    yield times("First truck", lambda plan: plan.starts_at)
    yield times("Last truck on site", lambda plan: moment(plan.result["delivery"]["loads"][-1]["arrives_at"]))
    yield times("Last truck empty", lambda plan: plan.placed_at)
    yield _counts("People placing", *_people(plans))
    yield said("Pace", lambda plan: words.amount(plan.result["line"]["rate_m3_h"], Dimension.VOLUME_RATE))
    yield said(
        "Air, first concrete to final set", lambda plan: weather_words(plan.result, words)[0] or "not known"
    )
    yield times("Takes a trowel", _trowel_at, rough=True)
    yield times("Finishing done", lambda plan: moment(plan.result["finishing"]["ends_at"]), rough=True)
    if all(plan.result["sawing"]["starts_at"] for plan in plans):
        yield times("Try the first cut", lambda plan: moment(plan.result["sawing"]["opens_at"]), rough=True)
        yield times("All cut by", lambda plan: moment(plan.result["sawing"]["last_call_at"]), rough=True)
    else:
        yield said("Joints", lambda plan: "cut" if plan.result["sawing"]["starts_at"] else "none")


def _trowel_at(plan: Plan) -> datetime:
    return moment(plan.result["first_set"]["float_ready"]["likely"])


def _people(plans: tuple[Plan, Plan]) -> tuple[int, int]:
    old, new = plans
    return old.inputs["placing"]["people"], new.inputs["placing"]["people"]


def _counts(what: str, old: int, new: int) -> Compared:
    return Compared(what, str(old), str(new), _more(str(abs(new - old)), new - old))


def _amounts(what: str, old_m3: float, new_m3: float, words: Words) -> Compared:
    old, new = words.ordered(old_m3), words.ordered(new_m3)
    differs = "" if old == new else _more(words.ordered(abs(new_m3 - old_m3)), new_m3 - old_m3)
    return Compared(what, old, new, differs)


def _more(amount: str, difference: float) -> str:
    if not difference:
        return ""
    return f"{amount} {'more' if difference > 0 else 'less'}"


def _times(
    what: str, old: datetime, new: datetime, zone: ZoneInfo, words: Words, *, rough: bool = False
) -> Compared:
    """Two moments and how much later the second is; what rests on a forecast to five minutes."""
    old, new = (about(at) if rough else at for at in (old, new))
    apart = new - old
    said = ""
    if abs(apart) >= A_MINUTE:
        said = f"{lasting(abs(apart))} {'later' if apart > timedelta() else 'sooner'}"
    return Compared(what, words.day_and_time(old, zone), words.day_and_time(new, zone), said)


def _only_in(one: Json, other: Json, zone: ZoneInfo, words: Words) -> Iterator[FindingWords]:
    """Cautions of one plan that the other has not."""
    known = {finding["code"] for finding in other["findings"]}
    for finding in one["findings"]:
        if finding["severity"] != "note" and finding["code"] not in known:
            yield finding_words(finding, zone, words)

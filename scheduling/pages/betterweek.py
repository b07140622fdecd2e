"""A better week as the week page tells of it: how far it has come, what it would change, and why."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.urls import reverse

from scheduling.models import HAS_A_WEEK, UNDER_WAY, Pour, ProposalState, Site, User, WeekProposal
from scheduling.pages.clashes import site_zone
from scheduling.pages.clock import day_words
from scheduling.pages.starts import TROUBLES
from scheduling.pages.wording import Words
from scheduling.queries.week import WeekView
from scheduling.queries.weekproposals import newest_proposal, pours_in
from scheduling.roles import Right
from scheduling.services import weekaccept

Json = Mapping[str, Any]

TENTHS = 10  # a week's costs are in tenths of a crew-hour
DANGERS = {**TROUBLES, "overtime": "overtime", "day_fee": "fees of the plant for that day"}
LACKS = {
    "people": "{needed} people of {name} needed, {exist} exist",
    "people_away": "{needed} people of {name} needed, {exist} there while others are on leave",
    "units": "{needed} {name} needed, {exist} exist",
    "plant": "{needed} m³/h needed of the plant, {exist} exist",
    "plant_shut": "the plant is shut",
    "plant_unasked": "a holiday: ask {name} whether it batches",
    "order_not_called": "too late to call {name} for that day",
    "crew_elsewhere": "{name} places {names} then",
    "promise": "later than was promised",
    "dear": "it would fit, but costs more there than to leave it out",
    "lost": "lost",
    "outside_permit": "{needed} h of work, {exist} h of it within the hours that {name} permits",
    "outside_loud_hours": "{needed} h of loud work, {exist} h of it within the hours for it at {name}",
    "road_season": "loads too heavy for the road to {name} in this season",
    "skill_missing": "{exist} of {needed} crews {name}",
    "no_start": "no start is left",
}
SKILLS = {"pumps": "can run the pump", "finishes": "can finish", "saws": "can saw"}
KEPT = {
    "plant_shut": "batched while {name} is open",
    "outside_permit": "within the hours that {name} permits",
    "outside_loud_hours": "loud only in the hours for it at {name}",
    "road_season": "loads that the road to {name} bears",
}
CLASHES = {
    "people_short": "{needed} people needed of {who}, which has {available}",
    "people_away": "{needed} people needed of {who}, with {available} there while others are on leave",
    "two_placings": "{who} placing {needed} slabs at once",
    "too_far": "{who} without time for the way",
    "unit_twice": "{who} in two places",
    "worker_twice": "{who} in two places",
    "gear_short": "{needed} {who} needed, {available} there",
    "plant_rate": "more asked of the plant than it batches",
    "plant_shut": "the plant shut",
    "short_rest": "too short a rest for {who}",
    "long_day": "too long a day for {who}",
}
STATES = {
    ProposalState.FAILED: "No better week could be sought.",
    ProposalState.ACCEPTED: "The proposed week was accepted.",
    ProposalState.OUT_OF_DATE: "The week changed after this was proposed, so nothing of it can be taken.",
    ProposalState.STOPPED: "Stopped: the best that had been found.",
}


@dataclass(frozen=True)
class Difference:
    pour: int
    name: str
    url: str
    before: str
    after: str
    reasons: tuple[str, ...]
    against: tuple[str, ...]
    taken: bool


@dataclass(frozen=True)
class BetterWeek:
    """What the section shows. `pk` is 0 where none was asked for yet."""

    pk: int
    day: date
    days: tuple[tuple[str, str], ...]
    sites: tuple[tuple[int, str], ...]
    is_under_way: bool
    is_takeable: bool
    stopping: bool
    progress: str
    said: tuple[str, ...]
    differences: tuple[Difference, ...]
    left_out: tuple[tuple[str, tuple[str, ...]], ...]
    remaining: tuple[str, ...]

    @property
    def left(self) -> int:
        return sum(not one.taken for one in self.differences)


def better_week(view: WeekView, user: User, words: Words) -> BetterWeek | None:
    """The section for those who may settle a week; None for others."""
    if not (user.may(Right.ASSIGN) and user.may(Right.BOOK)):
        return None
    proposal = newest_proposal(view.monday) or WeekProposal(monday=view.monday, state="")
    pours = pours_in(proposal, user)
    changed = weekaccept.what_changed(proposal) if proposal.state in HAS_A_WEEK else []
    result: Json = proposal.result or {}
    sites = {pour.job.site_id: pour.job.site for pour in view.pours}
    return BetterWeek(
        pk=proposal.pk or 0,
        day=view.monday,
        days=tuple((f"{day:%Y-%m-%d}", day_words(day, words.units)) for day in view.days),
        sites=tuple((site.pk, site.name) for site in sorted(sites.values(), key=_by_name)),
        is_under_way=proposal.state in UNDER_WAY,
        is_takeable=proposal.state in HAS_A_WEEK and not changed,
        stopping=proposal.stop_asked,
        progress=progress_words(proposal),
        said=tuple(_said(proposal, result, changed, words)),
        differences=tuple(_difference(one, pours, words) for one in result.get("differences", ())),
        left_out=tuple(_left_out(one, result, proposal.monday, words) for one in result.get("left_out", ())),
        remaining=tuple(_clash(one, words, words.office) for one in result.get("conflicts", ())),
    )


def _by_name(site: Site) -> tuple[str, int]:
    return site.name, site.pk


def progress_words(proposal: WeekProposal) -> str:
    """How far the work has come, in one line."""
    if proposal.state == ProposalState.ASKED:
        return "Waiting for a worker to begin."
    if proposal.state != ProposalState.WORKING:
        return ""
    if proposal.best is None:
        return f"{proposal.planned} of {proposal.to_plan} starts planned in their weather."
    best, bound = proposal.best / TENTHS, (proposal.bound or 0) / TENTHS
    return (
        f"Best week so far costs {best:.1f} crew-hours of trouble; none costs less than {bound:.1f}. "
        f"{proposal.seconds:.0f} s so far."
    )


def _said(proposal: WeekProposal, result: Json, changed: list[dict[str, Any]], words: Words) -> Iterator[str]:
    if proposal.state in STATES:
        yield " ".join(filter(None, (STATES[ProposalState(proposal.state)], proposal.fault)))
    if changed:
        yield f"The week has changed since: {'; '.join(map(weekaccept.told, changed))}. Ask for another."
    if not result:
        return
    if not result["differences"]:
        yield "No better week was found: every pour stays where it is."
    else:
        yield (
            f"The week as it stands costs {result['standing_cost'] / TENTHS:.1f} crew-hours of trouble, "
            f"its clashes not counted; the proposed one {result['cost'] / TENTHS:.1f}."
        )
    if result["failed"]:
        yield "The search broke down; what is shown is the plain plan, filled pour by pour."
    moments = (datetime.combine(proposal.monday, time.fromisoformat(one)) for one in result["clocks"])
    clocks = (words.clock(moment.replace(tzinfo=words.office), words.office) for moment in moments)
    yield f"Tried each day: {', '.join(clocks)}, and the time each pour has now."


def _difference(one: Json, pours: Mapping[int, Pour], words: Words) -> Difference:
    pour = pours.get(one["pour"])
    zone = site_zone(pour) if pour else words.office
    before, after = (
        f"{words.day_and_time(datetime.fromisoformat(one[at]), zone)}, {one[crew]}"
        for at, crew in (("from_at", "from_crew_name"), ("to_at", "to_crew_name"))
    )
    return Difference(
        pour=one["pour"],
        name=one["name"],
        url=reverse("pour", args=[one["pour"]]),
        before=before,
        after=after,
        reasons=tuple(_reason(reason, words, zone) for reason in one["reasons"]),
        against=tuple(_reason(reason, words, zone) for reason in one["against"]),
        taken=one["taken"],
    )


def _reason(reason: Json, words: Words, zone: ZoneInfo) -> str:
    match reason["code"]:
        case "clash_gone":
            return f"no longer {_clash(reason['clash'], words, zone)}"
        case "less" | "more":
            danger = DANGERS.get(reason["danger"], reason["danger"])
            return f"{reason['code']} {danger}: {reason['hours']:.1f} crew-hours"
        case "rule_kept":
            return KEPT[reason["rule"]].format(name=reason["name"])
        case "late":
            return f"{reason['days']} day{'' if reason['days'] == 1 else 's'} later than was promised"
        case "fit_crew":
            return "a crew that has the people and the skills for it"
        case "lost":
            return "it cannot be placed where it stands"
    return "makes room for others"


def _clash(clash: Json, words: Words, zone: ZoneInfo) -> str:
    at = datetime.fromisoformat(clash["starts_at"])
    when = words.from_to(at, datetime.fromisoformat(clash["ends_at"]), zone)
    what = CLASHES.get(clash["code"], "{who}: " + clash["code"].replace("_", " "))
    said = what.format(
        who=clash["who"].replace("_", " "), needed=f"{clash['needed']:g}", available=f"{clash['available']:g}"
    )
    return f"{said} ({day_words(at.astimezone(zone).date(), words.units)}, {when})"


def _left_out(one: Json, result: Json, monday: date, words: Words) -> tuple[str, tuple[str, ...]]:
    short = [lack for lack in result["shortages"] if lack["pour"] == one["pour"]]
    return one["name"], tuple(_shortage(lack, monday, words) for lack in short)


def _shortage(lack: Json, monday: date, words: Words) -> str:
    """Thu, Sep 3: 10 people of Ash needed, 5 exist (2:00–5:00 pm)."""
    said = LACKS[lack["lack"]].format(
        needed=f"{lack['needed']:g}",
        exist=f"{lack['exist']:g}",
        name=SKILLS.get(lack["name"], lack["name"].replace("_", " ")),
        names=" and ".join(lack["names"]),
    )
    when = ""
    if lack["starts_at"]:
        at, end = (datetime.fromisoformat(lack[name]) for name in ("starts_at", "ends_at"))
        when = f" ({words.from_to(at, end, words.office)})"
    return f"{day_words(monday + timedelta(days=lack['day']), words.units)}: {said}{when}"

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
DANGERS = {
    **TROUBLES,
    "overtime": "overtime",
    "day_fee": "fees of the plant for that day",
    "change_fee": "fees for a late change",
}
LACKS = {
    "people": "{needed} people of {name} needed, {exist} exist",
    "people_away": "{needed} people of {name} needed, {exist} there while others are on leave",
    "units": "{needed} {name}s needed, {exist} exist",
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
    ProposalState.OUT_OF_DATE: "The week changed after this was proposed: nothing more of it can be taken.",
    ProposalState.STOPPED: "Stopped: this is the best that had been found.",
}
NO_STAYING = {"code": "lost"}
STOPPED_EARLY = "Stopped before there was a week to propose: every pour stays where it is."
FOLDED = {
    ProposalState.ACCEPTED: "What was moved",
    ProposalState.OUT_OF_DATE: "What had been proposed",
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
    """What the section shows. `pk` is 0 where none was asked for yet; `folded` calls what is history."""

    pk: int
    day: date
    lost: str  # the day somebody is about to call lost
    days: tuple[tuple[str, str], ...]
    sites: tuple[tuple[int, str], ...]
    is_under_way: bool
    is_takeable: bool
    stopping: bool
    progress: str
    said: tuple[str, ...]
    tried: str
    folded: str
    differences: tuple[Difference, ...]
    left_out: tuple[tuple[str, tuple[str, ...]], ...]
    remaining: tuple[str, ...]

    @property
    def left(self) -> int:
        return sum(not one.taken for one in self.differences)


def better_week(view: WeekView, user: User, words: Words, lost: str = "") -> BetterWeek | None:
    """The section for those who may settle a week; None for others."""
    if not (user.may(Right.ASSIGN) and user.may(Right.BOOK)):
        return None
    proposal = newest_proposal(view.monday) or WeekProposal(monday=view.monday, state="")
    pours = pours_in(proposal, user, view.pours)
    changed = weekaccept.what_changed(proposal, view.zone) if proposal.state in HAS_A_WEEK else []
    result: Json = proposal.result or {}
    sites = {pour.job.site_id: pour.job.site for pour in view.pours}
    return BetterWeek(
        pk=proposal.pk or 0,
        day=view.monday,
        lost=lost,
        days=tuple((f"{day:%Y-%m-%d}", day_words(day, words.units)) for day in view.days),
        sites=tuple((site.pk, site.name) for site in sorted(sites.values(), key=_by_name)),
        is_under_way=proposal.state in UNDER_WAY,
        is_takeable=proposal.state in HAS_A_WEEK and not changed,
        stopping=proposal.stop_asked,
        progress=progress_words(proposal),
        said=tuple(_said(proposal, result, changed, words)),
        tried=_tried(proposal, result, words),
        folded=FOLDED.get(ProposalState(proposal.state), "") if proposal.state else "",
        differences=tuple(_difference(one, pours, proposal, words) for one in _lost_first(result)),
        left_out=tuple(_left_out(one, result, proposal.monday, words) for one in result.get("left_out", ())),
        remaining=tuple(_clash(one, words, words.office) for one in _to_come(proposal, result)),
    )


def _by_name(site: Site) -> tuple[str, int]:
    return site.name, site.pk


def progress_words(proposal: WeekProposal) -> str:
    """How far the work has come, in one line."""
    if proposal.state == ProposalState.ASKED:
        return "Waiting for a worker to begin."
    if proposal.state != ProposalState.WORKING:
        return ""
    taking = f"{proposal.seconds:.0f} s so far."
    if proposal.best is None:
        return f"Planning each pour at other times: {proposal.planned} of {proposal.to_plan} done. {taking}"
    best, bound = proposal.best / TENTHS, (proposal.bound or 0) / TENTHS
    trouble = "in which moving counts twentyfold" if is_rained_out(proposal) else "of trouble"
    least = f"no week costs less than {bound:.1f}"
    return f"The best week so far costs {best:.1f} crew-hours {trouble}; {least}. {taking}"


def is_rained_out(proposal: WeekProposal) -> bool:
    return proposal.lost_on is not None or proposal.lost_site_id is not None


def _said(proposal: WeekProposal, result: Json, changed: list[dict[str, Any]], words: Words) -> Iterator[str]:
    if is_rained_out(proposal):
        yield _lost_words(proposal, words)
    if proposal.state == ProposalState.STOPPED and not result:
        yield STOPPED_EARLY
    elif proposal.state in STATES:
        yield " ".join(filter(None, (STATES[ProposalState(proposal.state)], proposal.fault)))
    if changed:
        yield f"The week has changed since: {'; '.join(map(weekaccept.told, changed))}. Ask for another."
    if result:
        yield from _sum(proposal, result)


def _lost_words(proposal: WeekProposal, words: Words) -> str:
    """Rained out: Fri, Sep 4, at every site."""
    day = day_words(proposal.lost_on, words.units) if proposal.lost_on else "the whole week"
    where = proposal.lost_site.name if proposal.lost_site else "every site"
    return f"Rained out: {day}, at {where}."


def _sum(proposal: WeekProposal, result: Json) -> Iterator[str]:
    """What comes of it in all, and how good it is."""
    if result["failed"]:
        yield (
            "The search broke down. What is shown was filled in pour by pour, the hardest first: it names "
            "every clash it has, but there may be a better week."
        )
    moved = len(result["differences"])
    if not moved:
        yield "No better week was found: every pour stays where it is."
        return
    yield f"It moves {moved} pour{'' if moved == 1 else 's'}{_rained(proposal, result)}{_settled(result)}."
    # Where moves or what is left out are made dear on purpose the sum says nothing.
    if not is_rained_out(proposal) and not result["left_out"]:
        yield _costs(result)


def _lost_first(result: Json) -> list[Json]:
    """The differences in order of time, but first those of pours that cannot stay."""
    return sorted(result.get("differences", ()), key=lambda one: NO_STAYING not in one["reasons"])


def _to_come(proposal: WeekProposal, result: Json) -> Iterator[Json]:
    """Clashes the proposed week would still have, of what was not over yet when it was asked for."""
    for one in result.get("conflicts", ()):
        if datetime.fromisoformat(one["ends_at"]) > proposal.asked_at:
            yield one


def _rained(proposal: WeekProposal, result: Json) -> str:
    lost = sum(NO_STAYING in one["reasons"] for one in result["differences"])
    if not lost or not is_rained_out(proposal):
        return ""
    return ", all rained out" if lost == len(result["differences"]) else f", {lost} of them rained out"


def _settled(result: Json) -> str:
    """How many clashes are over: each is a reason of all its pours."""
    reasons = (reason for one in result["differences"] for reason in one["reasons"])
    clashes = (reason["clash"] for reason in reasons if reason["code"] == "clash_gone")
    ended = len({(clash["code"], clash["who"], clash["starts_at"]) for clash in clashes})
    return f"; {ended} clash{'' if ended == 1 else 'es'} end{'s' if ended == 1 else ''}" if ended else ""


def _costs(result: Json) -> str:
    standing, cost, bound = (result[name] / TENTHS for name in ("standing_cost", "cost", "bound"))
    best = "no week costs less" if result["proven"] else f"no week costs less than {bound:.1f}"
    return (
        f"Weather, dark hours, travel and moving cost {cost:.1f} crew-hours in it, and {standing:.1f} as the "
        f"week stands, its clashes not counted; {best}."
    )


def _tried(proposal: WeekProposal, result: Json, words: Words) -> str:
    if not result:
        return ""
    moments = (datetime.combine(proposal.monday, time.fromisoformat(one)) for one in result["clocks"])
    clocks = (words.clock(moment.replace(tzinfo=words.office), words.office) for moment in moments)
    return f"Tried each day: {', '.join(clocks)}, and the time each pour has now."


def _difference(one: Json, pours: Mapping[int, Pour], proposal: WeekProposal, words: Words) -> Difference:
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
        reasons=tuple(_reason(reason, proposal, words, zone) for reason in one["reasons"]),
        against=tuple(_reason(reason, proposal, words, zone) for reason in one["against"]),
        taken=one["taken"],
    )


def _reason(reason: Json, proposal: WeekProposal, words: Words, zone: ZoneInfo) -> str:
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
            return "rained out" if is_rained_out(proposal) else "it cannot be placed where it stands"
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
    """Thu, Sep 3, 2:00–5:00 pm: 10 people of Ash needed, 5 exist."""
    said = LACKS[lack["lack"]].format(
        needed=f"{lack['needed']:g}",
        exist=f"{lack['exist']:g}",
        name=SKILLS.get(lack["name"], lack["name"].replace("_", " ")),
        names=" and ".join(lack["names"]),
    )
    when = ""
    if lack["starts_at"]:
        at, end = (datetime.fromisoformat(lack[name]) for name in ("starts_at", "ends_at"))
        when = f", {words.from_to(at, end, words.office)}"
    return f"{day_words(monday + timedelta(days=lack['day']), words.units)}{when}: {said}"

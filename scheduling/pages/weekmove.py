"""Moving a pour on the week: the form that drag and keyboard share, and what is said when it cannot be."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from django import forms

from scheduling.errors import Clashes, OutOfDate, Refusal
from scheduling.localtime import moment_of
from scheduling.models import Crew, Pour
from scheduling.pages.clashes import ClashWords, refused_words, site_zone
from scheduling.pages.clashes import pour_name as name_of
from scheduling.pages.fields import PickField
from scheduling.pages.forms import MoveForm
from scheduling.pages.weekplace import Place
from scheduling.pages.wording import Words
from scheduling.queries.clashes import PourClash
from scheduling.queries.week import last_change, local_day

NOBODY = "none"  # said, so that a form that leaves the crew out takes nobody's crew away


class MoveOnWeekForm(MoveForm):
    """Day, crew and time; the version is that of whoever looked."""

    crew = PickField(label="Crew", missing="Choose the crew.")
    field_order = ("version", "day", "crew", "time")

    def __init__(self, *args: Any, crews: Sequence[Crew], **kwargs: Any) -> None:
        super().__init__(*args, auto_id="move_%s", **kwargs)
        rows = {str(crew.pk): crew for crew in crews}
        field = self.fields["crew"]
        if isinstance(field, PickField):
            choices = [*((key, crew.name) for key, crew in rows.items()), (NOBODY, "No crew yet")]
            field.offer(choices, rows.get)


@dataclass(frozen=True)
class MovePanel:
    """The form with what stands, what is wrong, and starts at which it would not clash."""

    pk: int
    name: str
    stands: str
    form: forms.Form
    action: str
    back: str
    problem: str = ""
    clashes: tuple[ClashWords, ...] = ()
    free: tuple[tuple[str, str], ...] = ()


def stands_words(pour: Pour, words: Words) -> str:
    """Wed, Dec 2, 7:00 am, with Ash."""
    crew = f"with {pour.crew.name}" if pour.crew else "without a crew"
    return f"{words.day_and_time(pour.starts_at, site_zone(pour))}, {crew}"


def panel(pour: Pour, form: forms.Form, place: Place, words: Words, action: str, **more: Any) -> MovePanel:
    return MovePanel(
        pk=pour.pk,
        name=name_of(pour),
        stands=stands_words(pour, words),
        form=form,
        action=action,
        back=f"{place.address(local_day(pour))}#pour-{pour.pk}",
        **more,
    )


def fresh_form(pour: Pour, crews: Sequence[Crew], start: str = "") -> MoveOnWeekForm:
    """Filled in with what stands, or with the start that is asked for."""
    wall = pour.starts_at.astimezone(site_zone(pour))
    day, _, time = start.partition("T")
    said = {
        "version": pour.version,
        "day": day or wall.date(),
        "time": time or wall.time(),
        "crew": str(pour.crew_id or NOBODY),
    }
    return MoveOnWeekForm(crews=crews, initial=said)


def typed(data: Mapping[str, str]) -> dict[str, str]:
    """What was sent, a free start that was chosen put in the place of day and time."""
    said = dict(data.items())
    day, split, time = said.pop("free", "").partition("T")
    return {**said, "day": day, "time": time} if split else said


def asked_changes(pour: Pour, said: Mapping[str, Any]) -> dict[str, Any]:
    """What of the pour would become other than it is."""
    zone = site_zone(pour)
    wall = pour.starts_at.astimezone(zone)
    changes: dict[str, Any] = {}
    if (said["day"], said["time"]) != (wall.date(), wall.time().replace(second=0, microsecond=0)):
        changes["starts_at"] = moment_of(datetime.combine(said["day"], said["time"]), zone, field="time")
    if said["crew"] != pour.crew:
        changes["crew"] = said["crew"]
    return changes


def refused_panel(
    pour: Pour,
    refused: Refusal,
    sent: Mapping[str, str],
    crews: Sequence[Crew],
    place: Place,
    words: Words,
    action: str,
) -> MovePanel:
    """What was typed as it was, with the version as it is now: sent again it speaks of this one."""
    form = MoveOnWeekForm({**sent, "version": str(pour.version)}, crews=crews)
    problem = refused.message
    field = {"starts_at": "time"}.get(refused.field, refused.field)
    if form.is_valid() and field in form.fields and field != "version":
        form.add_error(field, refused.message)
        problem = ""
    if isinstance(refused, OutOfDate):
        problem = f"{changed_words(pour, words)} What you typed is still here: look, then send it again."
    clashing: Sequence[PourClash] = refused.facts["clashes"] if isinstance(refused, Clashes) else ()
    return panel(
        pour,
        form,
        place,
        words,
        action,
        problem=problem,
        clashes=tuple(_as_refused(pour, one, words) for one in clashing),
        free=tuple(_free_starts(pour, clashing, words)),
    )


def _as_refused(pour: Pour, clash: PourClash, words: Words) -> ClashWords:
    """This pour's own free start is a button of the form."""
    told = refused_words(clash, words.units)
    return replace(told, cure_url="") if clash.pours[-1] == pour else told


def changed_words(pour: Pour, words: Words) -> str:
    """What became of the pour since its reader looked, by whom, and where it stands now."""
    last = last_change(pour)
    done = "Somebody changed this pour since you looked."
    if last:
        who = str(last.by) if last.by else "Somebody"
        at = words.day_and_time(last.at, words.office)
        done = f"{who} has {DONE[last.kind]} since you looked ({at})."
    return f"{done} It stands {stands_words(pour, words)}."


DONE = {
    "changed": "changed this pour",
    "moved": "moved this pour",
    "held": "put this pour on hold",
    "released": "released this pour from hold",
    "cancelled": "cancelled this pour",
}


def _free_starts(pour: Pour, clashing: Sequence[PourClash], words: Words) -> list[tuple[str, str]]:
    """Starts at which this pour would keep out of the way of the others, each once."""
    zone = site_zone(pour)
    found = sorted({one.free_start_at for one in clashing if one.free_start_at and one.pours[-1] == pour})
    return [
        (f"{at.astimezone(zone):%Y-%m-%dT%H:%M}", f"Start it {words.day_and_time(at, zone)} instead")
        for at in found
    ]

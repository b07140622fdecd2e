"""What a crew lead reads on the phone during the day, in the language that is spoken just now.

Shorter than the pages of the office and longer than a text: read at arm's length, in the sun.
"""

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta

from django.utils.translation import gettext, ngettext
from django.utils.translation import gettext_noop as said

from scheduling.texting.clock import clock, day_name, roughly, the_about, the_clock

# --- what is noted, as it stands in the list ------------------------------------------------------

NOTED = {
    "truck_arrived": said("Load {load} is here"),
    "truck_started": said("Load {load} started"),
    "truck_empty": said("Load {load} is empty"),
    "people_there": said("People here: {people}"),
    "ready_to_finish": said("Ready to finish"),
    "ravels": said("Cut ravels"),
    "cut_done": said("Cutting done"),
    "rain": said("Rain"),
    "rain_over": said("Rain is over"),
    "problem": said("Problem"),
    "ticket": said("Ticket of load {load} read"),
    "slump": said("Slump of load {load}: {measured}"),
    "temperature": said("Load {load}: {measured}"),
    "refused": said("Load {load} refused"),
    "photo": said("Photo"),
    "finishing_done": said("Finishing done"),
    "measured": said("Still to place: {measured}"),
    "balance_asked": said("Balance load asked for: {measured}"),
    "balance_loading": said("Balance load is loading"),
    "balance_gone": said("Balance load is on its way"),
    "balance_cancelled": said("Balance load cancelled"),
}
READY_OF_STRIP = said("Strip {strip} ready to finish")

# --- buttons ------------------------------------------------------------------------------------

BUTTONS = {
    "truck_arrived": said("Load {load} is here"),
    "truck_started": said("Start load {load}"),
    "truck_empty": said("Load {load} is empty"),
    "people_there": said("All {people} here"),
    "ready_to_finish": said("Ready to finish"),
    "ravels": said("Cut ravels"),
    "cut_done": said("Cutting done"),
    "rain": said("Rain"),
    "rain_over": said("Rain is over"),
    "problem": said("Problem"),
    "ticket": said("Keep the ticket"),
    "slump": said("Keep the slump"),
    "temperature": said("Keep the temperature"),
    "refused": said("Refused, sent back"),
    "photo": said("Send the photo"),
    "finishing_done": said("Finishing done"),
    "measured": said("Keep what is left"),
    "balance_asked": said("It is asked for"),
    "balance_loading": said("It is loading"),
    "balance_gone": said("It is on its way"),
    "balance_cancelled": said("It is cancelled"),
}
READY_BUTTON = said("Strip {strip} is ready")

STANDS = {
    "coming": said("to come"),
    "waiting": said("here, waits"),
    "emptying": said("coming out"),
    "empty": said("empty"),
}

# --- the page's own words -----------------------------------------------------------------------

PAGE = {
    "title": said("Your day"),
    "now": said("Now"),
    "facts": said("What to know"),
    "trucks": said("Trucks"),
    "more": said("More to tell"),
    "noted": said("Noted"),
    "work": said("For this pour"),
    "nothing": said("Nothing noted yet."),
    "undo": said("Take back"),
    "batched": said("Batch time on the ticket"),
    "batched_first": said("Read the batch time off the ticket first"),
    "at": said("At, if not just now"),
    "people_short": said("People here"),
    "tell_people": said("Tell it"),
    "what": said("What is the matter"),
    "tell_problem": said("Tell dispatch"),
    "ticket": said("Ticket"),
    "mix": said("Mix"),
    "address": said("Address"),
    "yards": said("On the truck"),
    "as_ordered": said("as ordered"),
    "other": said("other"),
    "other_is": said("It says"),
    "slump": said("Slump"),
    "temperature": said("Concrete temperature"),
    "photo": said("Photo"),
    "words": said("What it shows"),
    "ask": said("Ask the plant"),
    "cut": said("Cut"),
    "no_cut": said("nothing to cut"),
    "call_plant": said("Call the plant"),
    "call_dispatch": said("Call dispatch"),
    "on_hold": said("ON HOLD, do not go. Wait for the office."),
    "cancelled": said("CALLED OFF. Nobody pours here that day."),
    "no_plan": said("There is no plan yet. Call dispatch."),
    "no_pours": said("Nothing is planned for your crew that day any more. Call dispatch if that is wrong."),
    "other_pours": said("Your pours that day"),
    "waiting": said("{count} waiting for signal"),
    "kept": said("Kept on this phone: it goes out by itself when there is signal."),
    "not_taken": said("Not taken: {why}"),
    "offline": said("No signal. This is how it stood {clock}."),
    "done": said("Noted."),
    "undone": said("Taken back."),
    "slab": said("The slab"),
    "left": said("What is left"),
    "still_to_place": said("Measured: still to place"),
    "balance": said("Balance load asked of the plant by phone"),
    "yes_meant": said("Yes, it is meant"),
    "govern": said("Code and engineer go before this plan. The people on site decide."),
}

ENDED = {
    "revoked": said("This link was taken back."),
    "over": said("This link was for a day that is over."),
    "not_theirs": said("Another lead has that crew now."),
    "unknown": said("This link opens nothing. Perhaps a letter is missing: tap it in the text itself."),
    "too_many": said("Too many links were tried from here. Wait ten minutes and tap the one in your text."),
}
ENDED_TITLE = said("This link does not open")
ENDED_HELP = said("Call dispatch and ask for a new one. What must be said at once, say by phone.")


def gone(place: str, crew: str, at: datetime, starts_at: datetime | None) -> str:
    """That a pour went to another crew, to nobody yet, or to another day, and when it did."""
    if starts_at is not None:
        words = gettext("{place} was moved to {day}, {clock}.")
        return words.format(place=place, day=day_name(starts_at), clock=clock(starts_at))
    if not crew:
        return gettext("{place} was taken off your crew {at_clock}.").format(place=place, at_clock=_at(at))
    words = gettext("{place} went to {crew} {at_clock}.")
    return words.format(place=place, crew=crew, at_clock=_at(at))


# --- refusals, in words that are shown on the phone ---------------------------------------------

REFUSED = {
    "amount_needed": said("Say how much concrete."),
    "confirm_balance": said("That is over twice what was measured, or nothing was measured. Is it meant?"),
    "balance_out_of_turn": said("The balance load has not got so far."),
    "too_late_to_cancel": said("The balance load is loading: it is ours now."),
    "already_noted": said("That is noted already."),
    "out_of_order": said("A truck is here, starts and is empty in that order. Look at the times."),
    "in_the_future": said("That moment is still ahead."),
    "other_day": said("That is not the day of this pour."),
    "not_standing": said("This pour is not on any more."),
    "no_plan": said("There is no plan yet. Call dispatch."),
    "batched_later": said("The batch time lies after the truck came."),
    "batch_needed": said("Enter the batch time first: nobody takes a load of unknown age."),
    "people_needed": said("Say how many people are there."),
    "words_needed": said("Say what is the matter."),
    "measure_needed": said("Enter what you measured."),
    "out_of_range": said("That cannot be: look again."),
    "unclear": said("That was not understood: look again."),
    "ticket_needed": said("Say for each line of the ticket what it says."),
    "too_late_to_undo": said("That is more than ten minutes ago and stays. Tell dispatch."),
    "undone": said("That was taken back before."),
    "photo_kind": said("That is no photo this service reads. Send a JPEG."),
    "photo_large": said("The photo is too large."),
    "photo_many": said("There are too many photos of this pour."),
}
REFUSED_ELSE = said("That cannot be noted. Call dispatch.")

# --- the four facts -----------------------------------------------------------------------------


def be_there(call_at: datetime, starts_at: datetime) -> str:
    return gettext("Be there {the_clock}").format(the_clock=the_clock(call_at, starts_at))


def next_truck(load: int, at: datetime, to_come: int) -> str:
    """``Load 3 about 8:10am, 2 more after it``."""
    words = gettext("Load {load} about {the_clock}").format(load=load, the_clock=the_about(at))
    return words if to_come == 1 else gettext("{words}, {more} more after it").format(
        words=words, more=to_come - 1
    )  # fmt: skip


def no_truck_to_come(loads: int, *, empty: bool) -> str:
    words = gettext("All {loads} are empty") if empty else gettext("All {loads} are here")
    return words.format(loads=loads)


def hold_trucks(facts: Mapping[str, int], arrives_at: datetime) -> str:
    """``load 3 at 8:10am, then one every 25 min``."""
    first = gettext("load {load} {at_clock}").format(load=facts["load"], at_clock=_at(arrives_at))
    if not facts.get("interval_min"):
        return first
    return gettext("{first}, then one every {minutes} min").format(first=first, minutes=facts["interval_min"])


FINISH = {"trowel": said("Trowel"), "broom": said("Broom"), "float": said("Float")}


def from_about(at: datetime, day: datetime) -> str:
    return gettext("from {the_clock}").format(the_clock=the_about(at, day))


def span(first: datetime, last: datetime, day: datetime) -> str:
    """``8pm-Tue 3:30am``: two forecast moments."""
    first, last = roughly(first), roughly(last)
    return f"{clock(first, day)}-{clock(last, first)}"


def finished_about(at: datetime, day: datetime) -> str:
    return gettext("finished about {the_clock}").format(the_clock=the_about(at, day))


def rain_takes(minutes: int) -> str:
    return gettext("Rain takes {minutes} min of it: the crew stays").format(minutes=minutes)


# --- the slab, strip by strip -------------------------------------------------------------------


def loads_in_it(loads: Sequence[int]) -> str:
    """``load 2``, ``loads 2-4``."""
    if len(loads) == 1:
        return gettext("load {load}").format(load=loads[0])
    return gettext("loads {first}-{last}").format(first=loads[0], last=loads[-1])


def ready_at(at: datetime, day: datetime, *, found: bool) -> str:
    if found:
        return gettext("found ready {at_clock}").format(at_clock=_at(at, day))
    return gettext("ready about {the_clock}").format(the_clock=the_about(at, day))


TOO_LATE = said("hard before anybody gets there: send people")


def cut_between(times: str) -> str:
    return gettext("cut {span}").format(span=times)


def _at(at: datetime, day: datetime | None = None) -> str:
    return gettext("at {the_clock}").format(the_clock=the_clock(at, day))


# --- what is left to place ----------------------------------------------------------------------


def measure_now(loads: int) -> str:
    words = ngettext(
        "{loads} load left: measure what is still to place.",
        "{loads} loads left: measure what is still to place.",
        loads,
    )
    return words.format(loads=loads)


ENOUGH = said("Enough is coming: nothing more to order.")
BALANCE_STEPS = {
    "balance_asked": said("Balance load of {amount} asked for. It can still be cancelled."),
    "balance_loading": said("Balance load of {amount} is loading: it is ours now."),
    "balance_gone": said("Balance load of {amount} is on its way."),
    "balance_cancelled": said("Balance load cancelled."),
}


def was_left(amount: str, at: datetime, coming: str) -> str:
    if not coming:
        return gettext("{amount} was left {at_clock}.").format(amount=amount, at_clock=_at(at))
    words = gettext("{amount} was left {at_clock}; {coming} of it was to come.")
    return words.format(amount=amount, at_clock=_at(at), coming=coming)


def to_order(amount: str, load: int | None, by: datetime | None, *, too_late: bool) -> str:
    """What to ask of the plant, or that it is too late for that."""
    if too_late and by is not None:
        words = gettext("{amount} short, and the plant's last batch was {at_clock}. Call dispatch.")
        return words.format(amount=amount, at_clock=_at(by))
    if load is not None and by is not None:
        words = gettext("Tell the plant by {the_clock}: load {load} shall bring {amount}.")
        return words.format(the_clock=the_clock(by), load=load, amount=amount)
    if by is None:
        return gettext("{amount} short: call the plant.").format(amount=amount)
    words = gettext("{amount} short: call the plant by {the_clock}, its last batch.")
    return words.format(amount=amount, the_clock=the_clock(by))


def balance_step(step: str, amount: str) -> str:
    return gettext(BALANCE_STEPS[step]).format(amount=amount)


# --- what is wrong just now ---------------------------------------------------------------------


def load_expires(load: int, age_min: int, limit_min: int) -> str:
    words = gettext("Load {load} is {age} min old, its limit is {limit}. Refuse it, or call who may decide.")
    return words.format(load=load, age=age_min, limit=limit_min)


def load_will_expire(load: int, good_until: datetime) -> str:
    words = gettext("Load {load} is good until {the_clock} only. Place it first, or send it back.")
    return words.format(load=load, the_clock=the_clock(good_until))


def load_age_unknown(load: int) -> str:
    words = gettext("Load {load}: nobody knows its age. Read the batch time off the ticket before you start.")
    return words.format(load=load)


def and_early(words: str, early: timedelta) -> str:
    """One thing to say of a load that is too old, or will be, and came early too."""
    minutes = round(early.total_seconds() / 60)
    return gettext("{words} It came {minutes} min early.").format(words=words, minutes=minutes)


def load_early(load: int, early: timedelta) -> str:
    words = gettext(
        "Load {load} came {minutes} min early and gets old. Call the plant: take it or refuse it."
    )
    return words.format(load=load, minutes=round(early.total_seconds() / 60))


def truck_missing(load: int, asked_at: datetime, late_min: int) -> str:
    words = gettext("Load {load} was asked for {at_clock}: {late} min late. Call the plant.")
    return words.format(load=load, at_clock=_at(asked_at), late=late_min)


def gap(dry_min: int, bulkhead_by: datetime | None) -> str:
    if bulkhead_by is None:
        words = gettext("No concrete for {minutes} min: stop at a bulkhead, ask the engineer.")
        return words.format(minutes=dry_min)
    words = gettext("No concrete for {minutes} min. Bulkhead in by {the_clock}.")
    return words.format(minutes=dry_min, the_clock=the_clock(bulkhead_by))


MISMATCHES = {
    "mix": said("Load {load}: the ticket says mix {ticket}, ordered is {ordered}. Do not start. Call."),
    "address": said("Load {load}: the ticket is for {ticket}. Do not start. Call the plant."),
    "yards": said("Load {load}: {ticket} on the ticket, {ordered} was asked. Count it before the last load."),
}


def mismatch(what: str, load: int, ticket: str, ordered: str) -> str:
    return gettext(MISMATCHES[what]).format(load=load, ticket=ticket, ordered=ordered)


def age_words(age_min: float | None) -> str:
    return (
        gettext("age not known") if age_min is None else gettext("{age} min old").format(age=round(age_min))
    )


def about_clock(at: datetime) -> str:
    return gettext("about {clock}").format(clock=clock(at))


# --- word to dispatch ---------------------------------------------------------------------------


def told_dispatch(place: str, who: str, words: str) -> str:
    """A problem a lead noted, or a ticket that does not fit."""
    return gettext("{place}: {who} on site: {words}").format(place=place, who=who, words=words)


def people_short(there: int, planned: int) -> str:
    return gettext("{there} of {planned} people are there").format(there=there, planned=planned)

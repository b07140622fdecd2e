"""What a crew lead reads on the phone during the day, in the language that is spoken just now.

Shorter than the pages of the office and longer than a text: read at arm's length, in the sun.
"""

from collections.abc import Mapping
from datetime import datetime, timedelta

from django.utils.translation import gettext
from django.utils.translation import gettext_noop as said

from scheduling.texting.clock import clock, the_about, the_clock

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
READY_OF_LOAD = said("Load {load} ready to finish")

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
    "problem": said("Problem"),
    "ticket": said("Keep the ticket"),
    "slump": said("Keep the slump"),
    "temperature": said("Keep the temperature"),
    "refused": said("Refused, sent back"),
    "photo": said("Send the photo"),
    "finishing_done": said("Finishing done"),
    "measured": said("Keep what is left"),
}
READY_BUTTON = said("This load is ready to finish")

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

# --- refusals, in words that are shown on the phone ---------------------------------------------

REFUSED = {
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
    first = gettext("load {load} {at_clock}").format(
        load=facts["load"], at_clock=gettext("at {the_clock}").format(the_clock=the_clock(arrives_at))
    )
    if not facts.get("interval_min"):
        return first
    return gettext("{first}, then one every {minutes} min").format(first=first, minutes=facts["interval_min"])


FINISH = {"trowel": said("Trowel"), "broom": said("Broom"), "float": said("Float")}


def from_about(at: datetime, day: datetime) -> str:
    return gettext("from {the_clock}").format(the_clock=the_about(at, day))


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


def load_early(load: int, early: timedelta) -> str:
    words = gettext(
        "Load {load} came {minutes} min early and gets old. Call the plant: take it or refuse it."
    )
    return words.format(load=load, minutes=round(early.total_seconds() / 60))


def truck_missing(load: int, asked_at: datetime, late_min: int) -> str:
    words = gettext("Load {load} was asked for {at_clock}: {late} min late. Call the plant.")
    at_clock = gettext("at {the_clock}").format(the_clock=the_clock(asked_at))
    return words.format(load=load, at_clock=at_clock, late=late_min)


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

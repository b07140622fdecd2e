"""Reminders as their readers get them, in the language that is spoken just now."""

from datetime import datetime

from django.utils.translation import gettext
from django.utils.translation import gettext_noop as said

from scheduling.texting.cautions import Caution, warnings
from scheduling.texting.clock import clock, day_name, the_about, the_clock, the_zone_clock
from scheduling.texting.segments import segments, to_gsm
from scheduling.texting.wording import PLACE_LENGTH, OrderFacts, PourFacts, Surface, clip, where

EVENING_SEGMENTS = 2

FIRST_STRIP_FROM = {
    Surface.TROWEL: said("{place}: first strip may take a trowel from {the_clock}."),
    Surface.BROOM: said("{place}: first strip may take a broom from {the_clock}."),
    Surface.FLOAT: said("{place}: first strip may take a float from {the_clock}."),
}


def evening_text(pour: PourFacts, crew: str, *, to_lead: bool) -> str:
    """The evening before, to dispatchers and the lead: what speaks against tomorrow, gravest first."""
    told = warnings(pour.cautions, pour.starts_at, call_office=to_lead)
    words, act = (
        gettext("TOMORROW {day} {clock}, {place}: {told} {act}"),
        gettext("Load for it; call the office tonight if it should move."),
    )
    if not to_lead:
        act = gettext("Move it, or get ready for it.")
    if crew and not to_lead:
        words = gettext("TOMORROW {day} {clock}, {place}, crew {crew}: {told} {act}")
    while True:
        text = to_gsm(words.format(**_tomorrow(pour), crew=crew, told=" ".join(told), act=act))
        if len(told) <= 1 or segments(text) <= EVENING_SEGMENTS:
            return text
        told.pop()


def _tomorrow(pour: PourFacts) -> dict[str, str]:
    return {"day": day_name(pour.starts_at), "clock": clock(pour.starts_at), "place": pour.place}


def evening_hold_text(pour: PourFacts, crew: str) -> str:
    """The evening before, to dispatchers: tomorrow's pour is on hold, and people and trucks hang on it."""
    words = (
        gettext("TOMORROW {day} {clock}: {place} is still ON HOLD. Release it, or move it and tell {plant}.")
        if pour.plant
        else gettext("TOMORROW {day} {clock}: {place} is still ON HOLD. Release it, or move it.")
    )
    text = words.format(**_tomorrow(pour), plant=pour.plant)
    if crew:
        text += " " + gettext("Crew {crew} is told not to go.").format(crew=crew)
    return to_gsm(text)


def frost_text(pour: PourFacts, at: datetime) -> str:
    """To the lead, the afternoon before the first frost on a young slab."""
    words = gettext(
        "{place}: frost from {the_clock}. Blankets on the whole slab today, edges and corners double, "
        "weighed down."
    )
    return to_gsm(words.format(place=pour.place, the_clock=the_clock(at, pour.starts_at)))


def rain_text(pour: PourFacts, rain: Caution) -> str:
    """To the lead, before rain reaches a slab that is still soft."""
    words = gettext("{place}: rain from {the_clock}. Sheets over the slab before it; work no rainwater in.")
    from_at = rain.from_at or pour.starts_at
    return to_gsm(words.format(place=pour.place, the_clock=the_clock(from_at, pour.starts_at)))


def cylinders_text(pour: PourFacts, until: datetime) -> str:
    """To the lead, the day after: the test cylinders are hard enough to travel, and must."""
    words = gettext(
        "{place}: take the {count} test cylinders to the lab by {the_clock}. No jolts, no sun, no frost."
    )
    by = the_clock(until, pour.starts_at)
    return to_gsm(words.format(place=pour.place, count=pour.test_cylinders, the_clock=by))


def order_text(order: OrderFacts, now: datetime) -> str:
    """To the office, shortly before the plant's cut-off."""
    day = now.astimezone(order.order_by.tzinfo)
    zone = f" {order.order_by:%Z}" if order.plant_first_at else ""
    words = (
        gettext("NOT ORDERED, cut-off was {the_clock}. Call {plant} now: {asked}")
        if order.order_by <= now
        else gettext("Call {plant} by {the_clock}: {asked}")
    )
    cut_off = the_clock(order.order_by, day, zone)
    return to_gsm(words.format(plant=_plant(order), the_clock=cut_off, asked=_asked(order)))


def confirm_text(order: OrderFacts) -> str:
    """To the office, when the plant has not confirmed after its cut-off: it goes ahead, or it is let go."""
    words = (
        gettext("{plant}: called in, not confirmed. Confirm or release: {asked}")
        if order.called_in
        else gettext("{plant}: not even called in. Call it in or release it: {asked}")
    )
    return to_gsm(words.format(plant=_plant(order), asked=_asked(order)))


def _plant(order: OrderFacts) -> str:
    return f"{order.plant} {order.plant_phone}".rstrip()


def _asked(order: OrderFacts) -> str:
    first = order.plant_first_at or order.first_at
    at = the_zone_clock(first) if order.plant_first_at else the_clock(first)
    return gettext("{quantity} {mix}, on site {day}, {trucks}, for {site}.").format(
        quantity=order.quantity,
        mix=order.mix,
        day=day_name(first),
        trucks=order.arrivals.short(at),
        site=clip(order.site, PLACE_LENGTH),
    )


def on_site_text(pour: PourFacts) -> str:
    """To the lead, half an hour before the crew must stand on site."""
    words = gettext("Be at {where} by {the_clock}. First truck {first}.")
    first = the_clock(pour.starts_at)
    return to_gsm(words.format(where=where(pour), the_clock=the_clock(pour.call_at), first=first))


def finish_text(pour: PourFacts) -> str:
    """To the lead, shortly before the first strip can be ready."""
    ready_at = pour.floats_from_at or pour.starts_at
    words = gettext(FIRST_STRIP_FROM[pour.surface])
    strip = words.format(place=pour.place, the_clock=the_about(ready_at, pour.starts_at))
    return to_gsm(f"{strip} {gettext('Wait for a shallow footprint and no shine.')}")


def first_cut_text(pour: PourFacts) -> str:
    """To the lead, when the saw may first go on."""
    words = gettext("{place}: try a cut from {the_clock}. If it ravels, wait 30 min and try again.")
    cut_at = pour.cut_from_at or pour.starts_at
    return to_gsm(words.format(place=pour.place, the_clock=the_about(cut_at, pour.starts_at)))


def last_cut_text(pour: PourFacts, hours: float) -> str:
    """To the lead, when the cutting must begin to be done in time."""
    words = gettext(
        "{place}: cut all joints by {the_clock}, about {duration} of work. If not begun, begin now."
    )
    until = the_about(pour.cut_until_at or pour.starts_at, pour.starts_at)
    return to_gsm(words.format(place=pour.place, the_clock=until, duration=_duration(hours)))


def cure_text(pour: PourFacts, at: datetime) -> str:
    """To the lead, when the surface is finished and must be kept wet or sealed."""
    words = gettext("{place}: start curing from {the_clock}.")
    return to_gsm(words.format(place=pour.place, the_clock=the_about(at, pour.starts_at)))


def late(text: str) -> str:
    """The reminder marked as one that goes out later than it should have."""
    return to_gsm(gettext("LATE. {text}").format(text=text))


def _duration(hours: float) -> str:
    minutes = max(5, round(hours * 12) * 5)
    return f"{minutes} min" if minutes < 90 else f"{round(minutes / 30) / 2:g} h"

"""What a crew lead who reads Spanish gets, and that every kind of text can be said in both languages."""

from dataclasses import replace
from datetime import timedelta

import pytest
from django.utils import translation
from hypothesis import given
from hypothesis import strategies as st

from scheduling.sentences.arrivals import Arrivals
from scheduling.texting import notices, reminding
from scheduling.texting.cautions import CAUTIONS, Caution
from scheduling.texting.changes import Changed, change_text
from scheduling.texting.clock import clock, day_name, the_clock, the_zone_clock
from scheduling.texting.segments import is_gsm, segments
from scheduling.texting.wording import Kit, Surface, morning_text
from tests.texting.test_wording import CALM, CREW, ORDER, at

ALL_CHANGED = Changed(by_hand=True, start=True, place=True, order=True, floats=True, cuts=True)
LONG = ("order", "order too late", "confirm", "evening", "evening lead", "evening hold", "change")


def warned(pour):
    """The pour with something against its day."""
    return replace(pour, cautions=(Caution(code="thunder", from_at=at(15)), Caution(code="rain")))


REMINDERS = {
    "order": lambda pour, order: reminding.order_text(order, at(13, day=27)),
    "order too late": lambda pour, order: reminding.order_text(order, at(16, day=27)),
    "confirm": lambda pour, order: reminding.confirm_text(order),
    "on site": lambda pour, order: reminding.on_site_text(pour),
    "finish": lambda pour, order: reminding.finish_text(pour),
    "first cut": lambda pour, order: reminding.first_cut_text(pour),
    "last cut": lambda pour, order: reminding.last_cut_text(pour, 2.1),
    "cure": lambda pour, order: reminding.cure_text(pour, at(11, 7)),
    "evening": lambda pour, order: reminding.evening_text(warned(pour), "Ash", to_lead=False),
    "evening lead": lambda pour, order: reminding.evening_text(warned(pour), "Ash", to_lead=True),
    "evening hold": lambda pour, order: reminding.evening_hold_text(pour, "Ash"),
    "frost": lambda pour, order: reminding.frost_text(pour, at(2, day=29)),
    "rain": lambda pour, order: reminding.rain_text(pour, Caution(code="rain", from_at=at(15))),
    "cylinders": lambda pour, order: reminding.cylinders_text(pour, at(7, day=30)),
    "hold": lambda pour, order: notices.hold_text(pour, "forms not passed"),
    "call off": lambda pour, order: notices.call_off_text(pour, ""),
    "other crew": lambda pour, order: notices.other_crew_text(pour),
    "back on": lambda pour, order: notices.back_on_text(pour),
    "added": lambda pour, order: notices.added_text(pour),
    "change": lambda pour, order: change_text(replace(pour, call_at=at(5)), pour, ALL_CHANGED),
}


@pytest.fixture
def spanish():
    with translation.override("es"):
        yield


def test_a_calm_day_reads_as_a_foreman_would_say_it(spanish):
    assert morning_text([CALM], CREW).splitlines() == [
        "Vie 28 ago: Mill Rd garage, 14 Mill Rd, Olathe",
        "Lleguen a las 6am. 4 camiones desde las 7am cada 20 min.",
        "27.5 yd3 4000AE, Hilltop.",
        "Llana desde 9:40am. Corte 1pm-7pm.",
        "64 a 78 F, viento 8 mph.",
        "Van: Abel, Bo, Cruz, Dee.",
        "Lleven: allanadora, sierra + agua, botas de hule, tablas de rodilla, guantes, agua limpia.",
    ]
    assert segments(morning_text([CALM], CREW)) == 2


def test_a_pour_on_hold_says_not_to_go(spanish):
    text = morning_text([replace(CALM, on_hold=True)], CREW)
    assert text.startswith("Vie 28 ago: EN ESPERA, no vayan: Mill Rd garage")


@pytest.mark.parametrize(
    ("moment", "said"),
    [
        (at(7), "las 7am"),
        (at(1), "la 1am"),
        (at(13, 20), "la 1:20pm"),
        (at(0), "las 12 de la noche"),
        (at(12), "las 12 del día"),
        (at(3, 30, day=29), "las 3:30am del sáb"),
    ],
)
def test_the_clock_has_its_article_as_it_is_spoken(spanish, moment, said):
    assert the_clock(moment, at(7)) == said


def test_in_a_span_the_clock_stands_bare(spanish):
    assert clock(at(3, 30, day=29), at(7)) == "sáb 3:30am"
    assert the_zone_clock(at(6)) == "las 6am CDT"
    assert day_name(at(6)) == "vie 28 ago"


@pytest.mark.parametrize(
    ("arrivals", "said"),
    [
        (Arrivals(loads=1), "1 camión a las 7am"),
        (Arrivals(loads=2, next_after_min=30, interval_min=30), "2 camiones: a las 7am y 30 min después"),
        (
            Arrivals(loads=6, first_together=2, next_after_min=25, interval_min=20),
            "6 camiones: 2 a las 7am, otro 25 min después, luego cada 20 min",
        ),
    ],
)
def test_the_trucks_are_told_as_trucks(spanish, arrivals, said):
    assert arrivals.short(the_clock(at(7))) == said


@pytest.mark.parametrize("kind", REMINDERS)
@pytest.mark.parametrize("surface", Surface)
def test_every_reminder_has_one_text_in_each_language_and_is_short(kind, surface):
    told = {}
    for language in ("en", "es"):
        with translation.override(language):
            told[language] = REMINDERS[kind](replace(CALM, surface=surface), ORDER)
        assert is_gsm(told[language])
        assert segments(told[language]) <= (3 if kind in LONG else 1)
    assert told["en"] != told["es"]
    assert "{" not in "".join(told.values())


@pytest.mark.parametrize("code", CAUTIONS)
def test_every_caution_is_short_in_spanish_too(spanish, code):
    caution = Caution(code=code, from_at=at(10), until_at=at(14), figure="91 °F")
    line = morning_text([replace(CALM, cautions=(caution,), weather=None)], []).splitlines()[4]
    assert is_gsm(line)
    assert line[0].isupper()
    assert line.endswith(".")
    assert len(line) <= 75


odd = st.text(
    st.characters(codec="utf-16", exclude_categories=("Cs", "Cc")) | st.sampled_from("ñáéíóúü👷🏗️’“½ж"),
    max_size=80,
)


@given(
    language=st.sampled_from(["en", "es"]),
    site=odd,
    address=odd,
    plant=odd,
    mix=odd,
    crew=st.lists(odd, max_size=9),
    count=st.integers(1, 4),
    codes=st.lists(st.sampled_from(sorted(CAUTIONS)), max_size=4),
    link=st.sampled_from(["", "https://pours.example/pours/1204/"]),
)
def test_no_morning_text_is_over_its_limit_whatever_the_names(
    language, site, address, plant, mix, crew, count, codes, link
):
    pour = replace(
        CALM,
        site=site,
        address=address,
        plant=plant,
        mix=mix,
        directions="Gate on the east side",
        cautions=tuple(Caution(code=code, from_at=at(10), figure=site) for code in codes),
        kit=frozenset(Kit),
        holds_last_load=True,
    )
    with translation.override(language):
        text = morning_text([replace(pour, starts_at=at(7 + n)) for n in range(count)], crew, link)
    dear = not is_gsm(text) and count > 1
    assert segments(text) <= (2 * count + 1 if dear else max(3, count))
    assert text.count("6am") >= count


@given(
    language=st.sampled_from(["en", "es"]),
    kind=st.sampled_from(sorted(REMINDERS)),
    site=odd,
    address=odd,
    plant=odd,
)
def test_every_reminder_holds_odd_names(language, kind, site, address, plant):
    pour = replace(CALM, site=site, address=address)
    order = replace(ORDER, site=site, plant=plant)
    with translation.override(language):
        text = REMINDERS[kind](pour, order)
    assert text.strip()
    assert segments(text) <= 6


def test_a_slab_that_sets_overnight_is_told_with_its_day(spanish):
    cold = replace(CALM, floats_from_at=at(7) + timedelta(hours=18))
    assert "aguanta llana desde la 1am del sab" in reminding.finish_text(cold)

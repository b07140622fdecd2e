"""Reading what people text back.

The words of STOP, START and HELP: CTIA's Messaging Principles and the FCC's rule on revoking consent
(47 CFR 64.1200(a)(10)), from memory. The others: our choice of what crews say.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.texting.replies import MEANING_OF, Reading, Said, might_mean_stop, plain, read

UNDERSTOOD = {
    Said.YES: "yes|Yes.|YES!!|y|Ok|okay thanks|k|10-4|👍🏽|Sí|si, gracias|vale|De acuerdo|dale jefe|enterado",
    Said.NO: "no|NO.|n|nope|can't|can’t|No, gracias",
    Said.DONE: "done|Done!|all done|ok done|finished|listo|ya terminé|✅|Terminamos|hecho|todo listo",
    Said.RAVELS: "ravels|it ravels|still raveling|soft|se desmorona|muy blando",
    Said.STOP: "STOP|stop please|Unsubscribe|QUIT|end|cancel|opt out|opt-out|OPTOUT|revoke|STOPALL|alto|baja"
    "|parar|stop texting me",
    Said.START: "START|unstop|empezar|opt in|alta",
    Said.HELP: "HELP|help please|info|ayuda|Ayuda por favor",
}


@pytest.mark.parametrize(
    ("text", "said"), [(text, said) for said, texts in UNDERSTOOD.items() for text in texts.split("|")]
)
def test_what_is_said_in_plain_words_is_understood(text, said):
    assert read(text) == Reading(said)


@pytest.mark.parametrize(
    ("text", "minutes"),
    [
        ("late 20", 20), ("Late 20 min", 20), ("20 late", 20), ("running 15 minutes late", 15),
        ("late 20min", 20),
        ("late 1 hour", 60), ("ok, 10 late", 10), ("tarde 30", 30), ("llego 30 minutos tarde", 30),
        ("con retraso de 45", 45), ("1 hora de retraso", 60), ("late", None), ("voy tarde", None),
        ("late 7:30", None), ("late 0", None), ("late 5000", None), ("late 20 hours", None),
    ],
)  # fmt: skip
def test_how_late_is_read_where_it_is_said(text, minutes):
    assert read(text) == Reading(Said.LATE, minutes)


UNCLEAR = (
    "| |?|yesterday|know|nothing|notes|okra|stopped|helper|latest|no problem|not done|yes no|no tarde"
    "|yes but I need another saw|the truck is at a stop sign|20|done 5|gate is locked|y gracias|ya|listo no"
    "|sino|paramos|call me|start done|日本語|🙂"
)


@pytest.mark.parametrize("text", UNCLEAR.split("|"))
def test_what_is_not_quite_that_is_left_to_a_person(text):
    assert read(text) == Reading(Said.UNCLEAR)


def test_a_text_that_may_ask_to_stop_is_told_apart():
    assert might_mean_stop("please STOP sending me these")
    assert not might_mean_stop("we stopped at the gate")


def test_two_ways_to_type_the_same_are_the_same():
    assert plain("  Late  20 MIN!!") == plain("late 20min")


@given(st.text(max_size=60))
def test_no_text_is_too_odd_to_be_read(text):
    reading = read(text)
    assert (reading.late_min is None) or reading.said == Said.LATE


@pytest.mark.parametrize("word", sorted(MEANING_OF))
def test_a_word_within_a_longer_one_does_not_count(word):
    assert read(f"x{word}x") == Reading(Said.UNCLEAR)

"""What people text back, in English or Spanish: only whole words count, and nothing is guessed.

A text is understood when every word of it is known and together they say one thing. Anything else is for a
person to read: “no problem” is no no, and “not done” is not done.
"""

import re
import unicodedata
from dataclasses import dataclass
from enum import StrEnum

LONGEST_DELAY_MIN = 600


class Said(StrEnum):
    YES = "yes"
    NO = "no"
    LATE = "late"
    DONE = "done"
    RAVELS = "ravels"
    STOP = "stop"
    START = "start"
    HELP = "help"
    UNCLEAR = "unclear"


@dataclass(frozen=True, slots=True)
class Reading:
    said: Said
    late_min: int | None = None


# Synonyms, without accents. Those of STOP, START and HELP are what carriers and the FCC name; Spanish too.
SYNONYMS: dict[Said, str] = {
    Said.YES: "yes yeah yep yup ok okay okey k sure confirm confirmed copy roger affirmative accepted "
    "si claro vale confirmo confirmado enterado recibido dale",
    Said.NO: "no nope nah cannot cant unable",
    Said.LATE: "late delayed behind tarde retraso retrasado retrasados atrasado atrasados demora",
    Said.DONE: "done finished complete completed listo lista listos hecho terminado termine terminamos "
    "acabado acabe acabamos",
    Said.RAVELS: "ravel ravels raveling ravelling raveled ravelled crumbles crumbling soft "
    "desmorona desmoronan desmoronando desgrana desgranando blando blanda",
    Said.STOP: "stop stopall quit end revoke optout cancel unsubscribe alto parar pare detener cancelar baja",
    Said.START: "start unstop resume comenzar iniciar empezar reanudar alta",
    Said.HELP: "help info ayuda auxilio",
}
PHRASES = {
    "opt out": "optout",
    "opt in": "start",
    "10 4": "roger",
    "de acuerdo": "ok",
    "got it": "ok",
    "all set": "done",
}
SIGNS = {"👍": " ok ", "👎": " no ", "✅": " done ", "✔": " done ", "👌": " ok "}
# Words that change nothing.
MATTER_LITTLE = (
    "please pls thanks thank you thx boss sir it its is are we i im am will be the all still about around "
    "running there texts text texting me min mins minute minutes m h hr hrs hour hours "
    "por favor gracias jefe ya se esta estan estoy estamos voy vamos llego llegamos con de el la lo los todo "
    "toda todavia aun muy minuto minutos hora horas unos como mensajes"
)
FILLERS = frozenset(MATTER_LITTLE.split())
HOURS = frozenset({"h", "hr", "hrs", "hour", "hours", "hora", "horas"})
# One letter is an answer alone; “y” is “and” in Spanish.
LETTERS = {"y": Said.YES, "n": Said.NO, "s": Said.YES}
MEANING_OF = {word: said for said, words in SYNONYMS.items() for word in words.split()}


def plain(text: str) -> str:
    """Small letters without accents, signs or punctuation, one blank between words."""
    for sign, word in SIGNS.items():
        text = text.replace(sign, word)
    bare = unicodedata.normalize("NFKD", text.casefold().replace("’", "'").replace("'", ""))
    bare = "".join(character for character in bare if not unicodedata.combining(character))
    # Digits and the unit behind them are two words: 20min.
    words = " ".join(re.findall(r"\d+|[^\W\d_]+", bare))
    for phrase, word in PHRASES.items():
        words = re.sub(rf"\b{phrase}\b", word, words)
    return words


def read(text: str) -> Reading:
    """What the text says, where it says one thing and nothing else."""
    words = plain(text).split()
    if len(words) == 1 and words[0] in LETTERS:
        return Reading(LETTERS[words[0]])
    numbers = [word for word in words if word.isdigit()]
    rest = [word for word in words if not word.isdigit()]
    if any(word not in MEANING_OF and word not in FILLERS for word in rest):
        return Reading(Said.UNCLEAR)
    said = {MEANING_OF[word] for word in rest if word in MEANING_OF}
    if len(said) == 2 and Said.YES in said and Said.NO not in said:
        said.discard(Said.YES)  # “ok, done” says done
    if len(said) != 1:
        return Reading(Said.UNCLEAR)
    return _reading(said.pop(), numbers, bool(HOURS & set(rest)))


def _reading(said: Said, numbers: list[str], in_hours: bool) -> Reading:
    """A number goes with being late and with nothing else; two numbers may be a time of day."""
    if said != Said.LATE:
        return Reading(Said.UNCLEAR if numbers else said)
    if len(numbers) != 1 or len(numbers[0]) > 3:
        return Reading(said)
    minutes = int(numbers[0]) * (60 if in_hours else 1)
    return Reading(said, minutes if 0 < minutes <= LONGEST_DELAY_MIN else None)


def might_mean_stop(text: str) -> bool:
    """Whether a text that is not understood holds a word of STOP: a person should look soon."""
    return any(MEANING_OF.get(word) == Said.STOP for word in plain(text).split())

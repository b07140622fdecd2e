"""How many segments a text takes on the wire, and how to stay in the cheap alphabet."""

import unicodedata
from collections.abc import Iterable

# GSM 03.38 (3GPP TS 23.038): what one septet carries, and what costs an escape and a septet.
BASIC = frozenset(
    "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?"
    "¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà"
)
EXTENDED = frozenset("\f^{}\\[~]|€")

# Characters of a text that fits one segment, and of each segment of one that does not.
GSM_ALONE, GSM_JOINED = 160, 153
UCS2_ALONE, UCS2_JOINED = 70, 67

_PLAIN = str.maketrans(
    {
        "‘": "'", "’": "'", "‚": "'", "′": "'", "`": "'", "´": "'",
        "“": '"', "”": '"', "„": '"', "″": '"', "«": '"', "»": '"',
        "‐": "-", "‑": "-", "‒": "-", "–": "-", "—": "-", "−": "-",
        "…": "...", "•": "-", "·": ".", "×": "x", "½": "1/2", "¼": "1/4", "¾": "3/4",
        "°": "", "\t": " ", "\u00a0": " ", "\u2009": " ", "\u202f": " ", "\u200b": "", "\ufeff": "",
    }
)  # fmt: skip


def is_gsm(text: str) -> bool:
    """Whether every character is in the GSM alphabet, so that the text need not go as UCS-2."""
    return all(character in BASIC or character in EXTENDED for character in text)


def segments(text: str) -> int:
    """Segments the text is sent in: 160 septets or 70 UCS-2 units alone, 153 or 67 in each of several."""
    if is_gsm(text):
        return _segments([1 if c in BASIC else 2 for c in text], GSM_ALONE, GSM_JOINED)
    return _segments([1 if ord(c) <= 0xFFFF else 2 for c in text], UCS2_ALONE, UCS2_JOINED)


def _segments(costs: Iterable[int], alone: int, joined: int) -> int:
    """A character of two units goes whole into the next segment where only one unit is left."""
    costs = list(costs)
    if sum(costs) <= alone:
        return 1 if costs else 0
    count, used = 1, 0
    for cost in costs:
        if used + cost > joined:
            count, used = count + 1, 0
        used += cost
    return count


def to_gsm(text: str) -> str:
    """The text with typographic signs made plain and accents dropped that the alphabet lacks.

    A letter with no plain form stays as it is: a name in another script must still be readable,
    though it makes the text dearer.
    """
    return "".join(_plain(character) for character in text.translate(_PLAIN))


def _plain(character: str) -> str:
    if character in BASIC or character in EXTENDED:
        return character
    bare = "".join(c for c in unicodedata.normalize("NFKD", character) if not unicodedata.combining(c))
    return bare if bare and is_gsm(bare) else character

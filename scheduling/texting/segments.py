"""How many segments a text takes on the wire, and how to stay in the cheap alphabet."""

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass

# GSM 03.38 (3GPP TS 23.038): what one septet carries, and what costs an escape and a septet.
BASIC = frozenset(
    "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?"
    "¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà"
)
EXTENDED = frozenset("\f^{}\\[~]|€")

# Characters of a text that fits one segment, and of each segment of one that does not: of 140 octets its
# header takes six (3GPP TS 23.040), which are seven septets or three UCS-2 units. The shift tables of single
# languages (TS 23.038 annex A) are not counted on: few phones and gateways have them.
GSM_ALONE, GSM_JOINED = 160, 153
UCS2_ALONE, UCS2_JOINED = 70, 67

# Emoji and what they are put together with: signs, skins, joiners, variants; a flag's two letters too.
_PICTURES = frozenset({"So", "Sk", "Cf", "Me", "Mn", "Co"})
_SPACES = re.compile(" {2,}")

_PLAIN = str.maketrans(
    {
        "‘": "'", "’": "'", "‚": "'", "′": "'", "`": "'", "´": "'",
        "“": '"', "”": '"', "„": '"', "″": '"', "«": '"', "»": '"',
        "‐": "-", "‑": "-", "‒": "-", "–": "-", "—": "-", "−": "-",
        "…": "...", "•": "-", "·": ".", "×": "x", "½": "1/2", "¼": "1/4", "¾": "3/4",
        "°": "", "\t": " ", "\u00a0": " ", "\u2009": " ", "\u202f": " ", "\u200b": "", "\ufeff": "",
    }
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Measure:
    """What a text takes: septets, or UCS-2 units where `wide` signs are outside the GSM alphabet."""

    is_wide: bool
    units: int
    segments: int
    wide: tuple[str, ...]

    @property
    def room(self) -> int:
        """Units that as many segments hold."""
        alone, joined = (UCS2_ALONE, UCS2_JOINED) if self.is_wide else (GSM_ALONE, GSM_JOINED)
        return alone if self.segments <= 1 else joined * self.segments


def is_gsm(text: str) -> bool:
    """Whether every character is in the GSM alphabet, so that the text need not go as UCS-2."""
    return all(character in BASIC or character in EXTENDED for character in text)


def segments(text: str) -> int:
    """Segments the text is sent in: 160 septets or 70 UCS-2 units alone, 153 or 67 in each of several."""
    if is_gsm(text):
        return _segments([_gsm_cost(c) for c in text], GSM_ALONE, GSM_JOINED)
    return _segments([_ucs2_cost(c) for c in text], UCS2_ALONE, UCS2_JOINED)


def _gsm_cost(character: str) -> int:
    return 1 if character in BASIC else 2


def _ucs2_cost(character: str) -> int:
    return 1 if ord(character) <= 0xFFFF else 2


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


def measure(text: str) -> Measure:
    """What sending the text takes, and which signs make it dear."""
    wide = tuple(dict.fromkeys(c for c in text if c not in BASIC and c not in EXTENDED))
    costs = [_ucs2_cost(c) for c in text] if wide else [_gsm_cost(c) for c in text]
    return Measure(is_wide=bool(wide), units=sum(costs), segments=segments(text), wide=wide)


def to_gsm(text: str) -> str:
    """The text in the GSM alphabet, where that takes from no name and no word.

    Typographic signs become plain, pictures go, and letters lose the accents the alphabet lacks, as
    people leave them out themselves when they text: those of á, í, ó and ú go, é and ñ stay. A letter
    with no plain form is not swapped for another: then the whole text stays as it was and is dear.
    """
    composed = unicodedata.normalize("NFC", text).translate(_PLAIN)
    plain = _SPACES.sub(" ", "".join(_plain(character) for character in composed))
    return plain if is_gsm(plain) else text


def _plain(character: str) -> str:
    if character in BASIC or character in EXTENDED:
        return character
    bare = "".join(c for c in unicodedata.normalize("NFKD", character) if not unicodedata.combining(c))
    if bare and is_gsm(bare):
        return bare
    return "" if unicodedata.category(character) in _PICTURES else character

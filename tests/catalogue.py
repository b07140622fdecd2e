"""The Spanish of our texts: what the code says, what is translated, and the compiled file beside it.

``python -m tests.catalogue`` adds what the code says newly (with nothing for its Spanish), takes out what it
says no more, and compiles.
"""

import ast
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import polib

ROOT = Path(__file__).resolve().parent.parent
SPOKEN = ("scheduling/texting", "scheduling/sentences")
PO = ROOT / "scheduling/locale/es/LC_MESSAGES/django.po"
MO = PO.with_suffix(".mo")
# Where each of Django's functions has its context, its words and its words for many; gettext_noop is
# imported under the name of `said` where whole tables of words are written down.
CALLS = {
    "gettext": (None, 0, None),
    "gettext_noop": (None, 0, None),
    "said": (None, 0, None),
    "ngettext": (None, 0, 1),
    "pgettext": (0, 1, None),
    "npgettext": (0, 1, 2),
}
# Tables in which every string is words.
TABLES = {"CAUTIONS"}


class Saying(NamedTuple):
    """Words to translate, with what tells them from the same words meant otherwise."""

    msgid: str
    msgctxt: str | None = None
    plural: str = ""


def sayings() -> dict[Saying, str]:
    """Everything the code would have translated, with the file that says it."""
    paths = [path for room in SPOKEN for path in sorted((ROOT / room).rglob("*.py")) or [ROOT / room]]
    found = {}
    for path in paths:
        for saying in sayings_in(ast.parse(path.read_text(encoding="utf-8"))):
            found.setdefault(saying, str(path.relative_to(ROOT)))
    return found


def sayings_in(tree: ast.Module) -> Iterator[Saying]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in CALLS:
            where = CALLS[node.func.id]
            told = [_constant(node, at) for at in where]
            if told[1] is not None:
                yield Saying(msgid=told[1], msgctxt=told[0], plural=told[2] or "")
        elif isinstance(node, ast.AnnAssign) and ast.unparse(node.target) in TABLES:
            yield from (Saying(words) for words in ast.literal_eval(node.value).values())


def _constant(node: ast.Call, at: int | None) -> str | None:
    """The words written at that place; None where a name stands there, whose words are said elsewhere."""
    argument = None if at is None or at >= len(node.args) else node.args[at]
    return argument.value if isinstance(argument, ast.Constant) and isinstance(argument.value, str) else None


def saying_of(entry: polib.POEntry) -> Saying:
    return Saying(entry.msgid, entry.msgctxt, entry.msgid_plural)


def follow_the_code() -> int:
    """Bring the catalogue to what the code says, compile it, and count what has no Spanish yet."""
    said = sayings()
    kept = {saying_of(entry): entry for entry in polib.pofile(str(PO), wrapwidth=110)}
    book = polib.POFile(wrapwidth=110)
    book.metadata = polib.pofile(str(PO)).metadata
    for saying, path in said.items():
        entry = kept.get(saying) or polib.POEntry(
            msgid=saying.msgid,
            msgctxt=saying.msgctxt,
            msgid_plural=saying.plural,
            msgstr_plural={0: "", 1: ""} if saying.plural else {},
        )
        entry.occurrences = [(path, "")]
        book.append(entry)
    book.save(str(PO))
    book.save_as_mofile(str(MO))
    return len(book.untranslated_entries())


if __name__ == "__main__":
    print(f"{follow_the_code()} without Spanish, in {PO.relative_to(ROOT)}")  # noqa: T201

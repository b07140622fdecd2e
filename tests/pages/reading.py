"""Reads pages as tests need them: their text, and the fields with what is in them."""

import re
from html.parser import HTMLParser

from django.http import HttpResponse

VOID = {"input", "meta", "link", "br", "img", "hr"}


def html_of(response: HttpResponse) -> str:
    return response.content.decode()


def text_of(response: HttpResponse) -> str:
    """What a reader sees, with single blanks."""
    text = re.sub(r"<(style|script|title)\b.*?</\1>", " ", html_of(response), flags=re.S)
    text = re.sub(r"<[^>]+>", " ", text)
    for entity, sign in (("&#x27;", "'"), ("&quot;", '"'), ("&amp;", "&"), ("&lt;", "<"), ("&gt;", ">")):
        text = text.replace(entity, sign)
    return re.sub(r"\s+", " ", text)


class Fields(HTMLParser):
    """Every input, choice and text box by its name, with its value, and which of them are labelled."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.values: dict[str, str | None] = {}
        self.named: list[tuple[str, str]] = []  # (id, name) of what a person fills in
        self.label_for: set[str] = set()
        self._select = self._area = ""
        self._in_label = 0
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        said = {name: value or "" for name, value in attrs}
        name = said.get("name", "")
        if tag == "label":
            self._in_label += 1
            self.label_for.add(said.get("for", ""))
        elif tag == "input":
            self._input(said, name)
        elif tag in ("select", "textarea"):
            self._fill_in(said, name)
            self.values[name] = "" if tag == "textarea" else None
            self._select, self._area = (name, "") if tag == "select" else ("", name)
        elif tag == "option" and self._select and ("selected" in said or self.values[self._select] is None):
            self.values[self._select] = said.get("value", "")

    def _input(self, said: dict[str, str], name: str) -> None:
        kind = said.get("type", "text")
        if kind == "checkbox":
            self.values[name] = "on" if "checked" in said else None
        else:
            self.values[name] = said.get("value", "")
        if kind not in ("hidden", "submit"):
            self._fill_in(said, name)

    def _fill_in(self, said: dict[str, str], name: str) -> None:
        self.named.append((said.get("id", ""), name))
        if self._in_label:
            self.label_for.add(said.get("id", ""))

    def handle_data(self, data: str) -> None:
        if self._area:
            self.values[self._area] = (self.values[self._area] or "") + data.removeprefix("\n")

    def handle_endtag(self, tag: str) -> None:
        if tag == "label":
            self._in_label -= 1
        if tag == "select":
            self._select = ""
        if tag == "textarea":
            self._area = ""


def fields_of(response: HttpResponse) -> dict[str, str]:
    """What the page's fields hold, as a browser would send it."""
    values = Fields(html_of(response)).values
    return {name: value for name, value in values.items() if name and value is not None}

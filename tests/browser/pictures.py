"""The README's pictures, one each; `python -m tests.screenshots` takes them."""

import os
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image

from tests.browser.served import MONDAY, NOW
from tests.browser.visits import WEDNESDAY, phone_day, pour_at, show_plan, to

MOST_BYTES = 150_000  # a README is read on slow lines too (our choice)

# By the picture's name: who looks, when, at what, in a window how large, and what they do there first.
PICTURES = {
    "week": ("dispatch", NOW, to(f"/week/?day={MONDAY}"), (1280, 1560), None),
    "booking": ("office", NOW, to("/pours/book/"), (1280, 900), show_plan),
    "pour": ("office", NOW, pour_at(), (1280, 900), None),
    "today": ("dispatch", WEDNESDAY, to("/today/"), (1280, 760), None),
    "phone": (None, WEDNESDAY, phone_day("garage"), (390, 780), None),
}


@pytest.mark.parametrize("name", PICTURES)
def test_picture(browser_page, clock, name):
    username, at, address, (width, height), then = PICTURES[name]
    clock(at)
    page = browser_page(username, width=width)
    page.set_viewport_size({"width": width, "height": height})
    page.goto(address())
    if then:
        then(page)
    page.wait_for_load_state("networkidle")
    page.evaluate("document.activeElement.blur(); scrollTo(0, 0)")
    picture = packed(page.screenshot(animations="disabled", caret="hide"))
    assert len(picture) <= MOST_BYTES, f"{name}: {len(picture)} bytes"
    (Path(os.environ["POURPLAN_PICTURES"]) / f"{name}.png").write_bytes(picture)


def packed(png: bytes) -> bytes:
    """The same picture in the 256 colours that suit it best: a third of the bytes, and a page has few."""
    few = Image.open(BytesIO(png)).convert("RGB").quantize(256, dither=Image.Dither.NONE)
    into = BytesIO()
    few.save(into, "PNG", optimize=True)
    return into.getvalue()

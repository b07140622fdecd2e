"""What a page is looked over for: faults the browser tells, what axe-core finds, what sticks out."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import axe_playwright_python
from playwright.sync_api import BrowserContext, ConsoleMessage, Page, Response

AXE = (Path(axe_playwright_python.__file__).parent / "axe.min.js").read_text(encoding="utf-8")
GRAVE = ("serious", "critical")

# Chromium says so of every answer from 400 on; `Watch.answered` tells the ones that matter.
SAID_OF_ANSWERS = "Failed to load resource: the server responded with a status of"


@dataclass
class Watch:
    """Notes what goes wrong in any tab: errors of scripts, the security policy, lost files, other hosts."""

    home: str
    faults: list[str] = field(default_factory=list)

    def over(self, context: BrowserContext) -> None:
        context.on("console", self.told)
        context.on("weberror", lambda error: self.faults.append(f"script: {error.error}"))
        context.on("response", self.answered)

    def told(self, message: ConsoleMessage) -> None:
        if message.type == "error" and not message.text.startswith(SAID_OF_ANSWERS):
            self.faults.append(f"console: {message.text}")

    def answered(self, response: Response) -> None:
        """A page may refuse what was asked, with words; a file or what a script asks for may not fail."""
        is_page = response.request.is_navigation_request()
        if response.status >= (500 if is_page else 400):
            self.faults.append(f"{response.status}: {response.url}")
        parts = urlsplit(response.url)
        if parts.scheme in ("http", "https") and f"{parts.scheme}://{parts.netloc}" != self.home:
            self.faults.append(f"another host: {response.url}")


def serious_faults(page: Page, within: str | None = None) -> list[str]:
    """What axe-core holds to be serious or critical, one line each; `within` narrows it to a CSS selector."""
    page.evaluate(AXE)
    found: dict[str, Any] = page.evaluate(
        "within => axe.run(within || document, {resultTypes: ['violations']})", within
    )
    return [
        f"{fault['id']}: {fault['help']}: {[node['target'] for node in fault['nodes'][:5]]}"
        for fault in found["violations"]
        if fault["impact"] in GRAVE
    ]


def no_serious_faults(page: Page, within: str | None = None) -> None:
    faults = serious_faults(page, within)
    assert not faults, "\n".join([page.url, *faults])


def overflow(page: Page) -> Sequence[str]:
    """What sticks out to the right of the window; empty where the page does not scroll sideways."""
    return page.evaluate(
        """() => {
            const wide = document.documentElement.clientWidth;
            if (document.documentElement.scrollWidth <= wide) return [];
            return [...document.querySelectorAll('body *')]
                .filter(e => e.getBoundingClientRect().right > wide + 1)
                .map(e => `${e.tagName}.${e.getAttribute('class')} to ${e.getBoundingClientRect().right}`)
                .slice(0, 8).concat(`page ${document.documentElement.scrollWidth} in ${wide}`);
        }"""
    )

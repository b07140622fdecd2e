"""A person at the keyboard, timed by the keystroke-level model (Card, Moran & Newell 1980, CACM 23:396-410).

The model tells how long somebody who knows the way takes for what must be pressed and thought, on whatever
machine the test runs.
"""

from dataclasses import dataclass

from playwright.sync_api import Page

KEY_S = 0.28  # K of the model: an average typist who is no typist by trade, 40 words a minute
THOUGHT_S = 1.35  # M: before each thing that is decided
WORD_S = 0.24  # 250 words a minute, our choice: the model does not read
PAUSE_MS = 60  # between keys as they are really pressed here


@dataclass
class Hand:
    """Presses and reads as a person, and adds up what that takes."""

    page: Page
    keys: int = 0
    thoughts: int = 0
    words: int = 0

    def decide(self, text: str) -> None:
        """One thing decided and typed."""
        self.thoughts += 1
        for letter in text:
            self.press(letter)

    def go(self) -> None:
        """Press what has the focus, having looked at it."""
        self.thoughts += 1
        self.press("Enter")

    def press(self, key: str) -> None:
        self.page.keyboard.press(key)
        self.page.wait_for_timeout(PAUSE_MS)
        self.keys += 1

    def tab_to(self, name: str) -> None:
        """Tab until the field or button of this name has the focus."""
        for _ in range(40):
            if self.page.evaluate(FOCUSED) == name:
                return
            self.press("Tab")
        raise AssertionError(f"Tab does not lead to {name}")

    def read(self, words: str) -> None:
        self.words += len(words.split())

    @property
    def seconds(self) -> float:
        return self.keys * KEY_S + self.thoughts * THOUGHT_S + self.words * WORD_S


FOCUSED = "() => (document.activeElement.labels?.[0] ?? document.activeElement).innerText.trim()"

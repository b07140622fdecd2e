"""Where the Tab key leads on a page, and whether one sees it."""

from dataclasses import dataclass
from itertools import pairwise

from playwright.sync_api import Page

# Every control one must be able to get to, in the page's own order; of radio buttons the one that is chosen.
START = """() => {
    const kinds = 'a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex]';
    const controls = [...document.querySelectorAll(kinds)].filter(e => e.tabIndex >= 0 && !e.disabled
        && e.checkVisibility({visibilityProperty: true}) && (e.type !== 'radio' || e.checked));
    const name = e => e.getAttribute('aria-label') || e.labels?.[0]?.innerText || e.innerText || e.name || '';
    const told = e => `${e.tagName.toLowerCase()} “${name(e).trim().slice(0, 40)}”`;
    // The way begins at the top, also where a page has put the focus somewhere.
    document.body.tabIndex = -1;
    document.body.focus();
    document.body.removeAttribute('tabindex');
    window.walked?.stop();
    const listen = new AbortController();
    window.walked = {steps: [], names: controls.map(told), stop: () => listen.abort()};
    document.addEventListener('focusin', ({target}) => {
        const style = getComputedStyle(target);
        const seen = style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2;
        const box = target.getBoundingClientRect();
        window.walked.steps.push({
            at: controls.indexOf(target), seen, name: told(target),
            top: box.top + scrollY, bottom: box.bottom + scrollY, inMain: Boolean(target.closest('main')),
        });
    }, {signal: listen.signal});
    // A date or time has a stop for each of its parts.
    const parts = controls.filter(e => ['date', 'time', 'datetime-local'].includes(e.type)).length;
    return controls.length + 6 * parts;
}"""


@dataclass(frozen=True)
class TabWalk:
    """What went wrong on the way through a page by Tab alone."""

    missed: list[str]
    unseen: list[str]
    backwards: list[str]


def walk_by_tab(page: Page) -> TabWalk:
    """Press Tab from the top of the page to its end.

    `backwards` are stops of the content that lie wholly above the one before: in one column all lead down.
    """
    for _ in range(page.evaluate(START)):
        page.keyboard.press("Tab")
    steps, names = page.evaluate("[walked.steps, walked.names]")
    reached = {step["at"] for step in steps}
    last = next((n for n, step in enumerate(steps) if step["at"] == len(names) - 1), len(steps) - 1)
    way = [step for step in steps[: last + 1] if step["inMain"]]
    return TabWalk(
        missed=[name for at, name in enumerate(names) if at not in reached],
        unseen=sorted({step["name"] for step in steps if not step["seen"]}),
        backwards=[
            f"{before['name']} → {step['name']}"
            for before, step in pairwise(way)
            if step["bottom"] < before["top"]
        ],
    )

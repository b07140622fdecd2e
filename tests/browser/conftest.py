"""A browser before the made-up company: `browser_page("office")` is a tab of somebody signed in.

Every test here begins with the company's rows as they were made, on a Thursday morning, and fails if anything
goes wrong in the browser's console meanwhile. `rows` lets a test read and write rows itself, `clock(moment)`
moves everybody's time.
"""

import os
import shutil
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
import time_machine
from django.conf import settings
from django.test import Client
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

from scheduling.models import User
from tests.browser import served
from tests.browser.looking import Watch

WIDTHS = {"desk": 1440, "tablet": 768, "phone": 320}


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """All that lies in this folder needs a browser and takes its time."""
    for item in items:
        if item.path.is_relative_to(Path(__file__).parent):
            item.add_marker(pytest.mark.browser)
            item.add_marker(pytest.mark.slow)


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    program = shutil.which("chromium")
    if not program:
        pytest.fail("There is no chromium here: tests/run installs one.")
    # Playwright keeps a loop in this thread, which Django takes for asynchronous code of ours.
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"
    with sync_playwright() as playwright:
        arguments = ["--disable-lcd-text", *(["--no-sandbox"] if os.geteuid() == 0 else [])]
        browser = playwright.chromium.launch(executable_path=program, args=arguments)
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def address() -> Iterator[str]:
    with served.server() as address:
        yield address


@pytest.fixture(scope="session")
def company_file(tmp_path_factory, worker_id: str, django_db_blocker) -> Path:
    folder = tmp_path_factory.getbasetemp()
    if worker_id != "master":
        folder = folder.parent  # the one all test processes of this run share
    with django_db_blocker.unblock():
        return served.company_file(folder)


@pytest.fixture
def clock() -> Iterator[Callable[[datetime], None]]:
    """Sets the server's and the test's clock, which goes on from NOW; a tab takes its own when opened."""
    with time_machine.travel(served.NOW) as travelling:
        yield travelling.move_to


@pytest.fixture
def rows(company_file: Path, tmp_path: Path, clock, django_db_blocker) -> Iterator[None]:
    """The company as it was made, in a file of this test's own."""
    file = Path(shutil.copy(company_file, tmp_path / "rows.sqlite3"))
    with served.rows_in(file), django_db_blocker.unblock():
        yield


@pytest.fixture
def watch(address: str) -> Iterator[Watch]:
    """What goes wrong in a test's tabs; a test that means it to takes it out of `faults`."""
    watch = Watch(address)
    yield watch
    assert not watch.faults, "\n".join(watch.faults)


OpenContext = Callable[..., BrowserContext]
OpenPage = Callable[..., Page]


@pytest.fixture
def browser_context(chromium: Browser, address: str, rows, watch: Watch) -> Iterator[OpenContext]:
    """Makes a browser of its own for somebody, signed in by the session's cookie; `None` is a stranger."""
    opened: list[BrowserContext] = []

    def _context(
        username: str | None = "office", width: int = WIDTHS["desk"], **options: object
    ) -> BrowserContext:
        context = chromium.new_context(
            base_url=address, viewport={"width": width, "height": 900}, reduced_motion="reduce", **options
        )
        opened.append(context)
        context.set_default_timeout(60_000)
        context.clock.set_system_time(datetime.now(UTC))
        watch.over(context)
        if username:
            client = Client()
            person = User.objects.get(username=username)
            client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
            name = settings.SESSION_COOKIE_NAME
            context.add_cookies([{"name": name, "value": client.cookies[name].value, "url": address}])
        return context

    yield _context
    for context in opened:
        context.close()


@pytest.fixture
def browser_page(browser_context: OpenContext) -> OpenPage:
    """Opens a tab: `browser_page("ash", width=320)` is crew Ash's lead on a small phone."""

    def _page(username: str | None = "office", width: int = WIDTHS["desk"], **options: object) -> Page:
        return browser_context(username, width, **options).new_page()

    return _page

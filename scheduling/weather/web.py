"""Asking a weather service on the web: politely, within bounds, and only the addresses named for it.

A page that was read is kept with what the service said of it, so that it is asked for again only when it
may have changed, and then with the question whether it has. Keeping pages is the caller's; here they are
only read.
"""

from __future__ import annotations

import logging
import time
from collections.abc import Callable, Mapping
from contextlib import closing
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from email.utils import parsedate_to_datetime
from urllib.parse import urljoin, urlsplit

import urllib3
from urllib3.exceptions import HTTPError

logger = logging.getLogger(__name__)

Shelf = Callable[[str], "Page | None"]

PASSING = frozenset({429, 500, 502, 503, 504})  # worth asking again
MOVED = frozenset({301, 302, 303, 307, 308})
MOST_MOVES = 3
# Our choice: a page that says nothing of its age serves so long, so that two sites of one place ask once.
UNSAID_FRESH = timedelta(minutes=10)
LONGEST_FRESH = timedelta(days=1)
LONGEST_REST = timedelta(hours=6)
LONGEST_VALIDATOR = 200
CHUNK = 65536


class WeatherUnavailable(Exception):
    """The service gave no forecast; `rest` is how long it asked to be left alone, where it did."""

    def __init__(self, reason: str, rest: timedelta | None = None) -> None:
        super().__init__(reason)
        self.rest = rest


class NoSuchPlace(WeatherUnavailable):
    """The service knows no weather there; asking again soon will not help."""


class _Passing(Exception):
    """A fault that may be over at the next try."""

    def __init__(self, reason: str, rest: timedelta | None = None) -> None:
        super().__init__(reason)
        self.rest = rest


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """A document as it came, and what was said of keeping it."""

    url: str
    body: str
    checked_at: datetime
    fresh_until: datetime
    etag: str = ""
    last_modified: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Manners:
    """How a service is asked. Times in seconds; `pause_s` doubles with each try."""

    user_agent: str
    connect_s: float = 5.0
    read_s: float = 10.0
    whole_s: float = 30.0
    tries: int = 3
    pause_s: float = 0.5
    longest_pause_s: float = 5.0
    most_bytes: int = 5_000_000


def origin_of(url: str) -> tuple[str, str, int | None]:
    """Scheme, host and port of an address; a port not told is the scheme's own.

    Raises
    ------
    WeatherUnavailable
        When it is no address of the web, or carries a name to sign in with.
    """
    try:
        parts = urlsplit(url)
        port = parts.port or {"https": 443, "http": 80}.get(parts.scheme)
    except ValueError as fault:
        raise WeatherUnavailable(f"{url[:80]!r} is no address.") from fault
    if parts.scheme not in {"http", "https"} or not parts.hostname or "@" in parts.netloc:
        raise WeatherUnavailable(f"{url[:80]!r} is no address to ask.")
    return parts.scheme, parts.hostname, port


class Web:
    """Reads pages of one service. No other host is ever called, whoever names it."""

    def __init__(self, base_url: str, manners: Manners, shelf: Shelf, now: datetime) -> None:
        self._origin = origin_of(base_url)
        self._manners = manners
        self._shelf = shelf
        self._now = now
        timeout = urllib3.Timeout(connect=manners.connect_s, read=manners.read_s)
        self._pool = urllib3.PoolManager(timeout=timeout, retries=False)

    def page(self, url: str, headers: Mapping[str, str] | None = None) -> Page:
        """Return the page as kept while it is fresh, else as the service gives it.

        Raises
        ------
        WeatherUnavailable
            When the service does not give it, or the address is of another host.
        """
        kept = self._shelf(url)
        if kept and kept.fresh_until > self._now:
            return kept
        manners = self._manners
        for attempt in range(manners.tries):
            try:
                return self._asked(url, dict(headers or {}), kept)
            except _Passing as fault:
                pause_s = self._pause_s(attempt, fault.rest)
                if attempt + 1 == manners.tries or pause_s > manners.longest_pause_s:
                    raise WeatherUnavailable(str(fault), fault.rest) from fault
                logger.info("Asking %s again in %g s: %s", self._origin[1], pause_s, fault)
                time.sleep(pause_s)
        raise AssertionError("At least one try is made.")

    def _pause_s(self, attempt: int, rest: timedelta | None) -> float:
        return self._manners.pause_s * 2**attempt if rest is None else rest.total_seconds()

    def _asked(self, url: str, headers: dict[str, str], kept: Page | None) -> Page:
        """One try: ask, and follow where the page has moved to on the same host."""
        headers |= {"User-Agent": self._manners.user_agent, "Accept-Encoding": "gzip"}
        if kept and kept.etag:
            headers["If-None-Match"] = kept.etag
        if kept and kept.last_modified:
            headers["If-Modified-Since"] = kept.last_modified
        ends_s = time.monotonic() + self._manners.whole_s
        address = url
        for _ in range(MOST_MOVES + 1):
            self._refuse_other_host(address)
            with closing(self._answer(address, headers)) as answer:
                if answer.status not in MOVED:
                    return self._page(url, answer, kept, ends_s)
                address = urljoin(address, answer.headers.get("Location", ""))
        raise WeatherUnavailable("The weather service sends us from page to page.")

    def _refuse_other_host(self, url: str) -> None:
        if origin_of(url) != self._origin:
            raise WeatherUnavailable(
                f"The weather service sends us to {urlsplit(url).hostname}, which is not ours to ask."
            )

    def _answer(self, url: str, headers: Mapping[str, str]) -> urllib3.BaseHTTPResponse:
        try:
            return self._pool.request("GET", url, headers=headers, redirect=False, preload_content=False)
        except HTTPError as fault:
            raise _Passing(_said(fault)) from fault

    def _page(self, url: str, answer: urllib3.BaseHTTPResponse, kept: Page | None, ends_s: float) -> Page:
        self._refuse_status(answer, kept)
        until = fresh_until(answer.headers, self._now)
        if answer.status == 304 and kept:
            return replace(kept, checked_at=self._now, fresh_until=until)
        return Page(
            url=url,
            body=self._body(answer, ends_s),
            checked_at=self._now,
            fresh_until=until,
            # One too long to keep would come back cut short and never match.
            etag=_short(answer.headers.get("ETag", "")),
            last_modified=_short(answer.headers.get("Last-Modified", "")),
        )

    def _refuse_status(self, answer: urllib3.BaseHTTPResponse, kept: Page | None) -> None:
        status = answer.status
        if status == 200 or (status == 304 and kept):
            return
        if status in PASSING:
            rest = rest_asked(answer.headers.get("Retry-After", ""), self._now)
            raise _Passing(f"The weather service answers with fault {status}.", rest)
        if status == 404:
            raise NoSuchPlace("The weather service knows no forecast for this place.")
        raise WeatherUnavailable(f"The weather service refuses us with {status}.")

    def _body(self, answer: urllib3.BaseHTTPResponse, ends_s: float) -> str:
        """The whole text, piece by piece, so that neither its size nor its slowness is without end."""
        pieces, size = [], 0
        try:
            while piece := answer.read1(CHUNK, decode_content=True):
                pieces.append(piece)
                size += len(piece)
                if size > self._manners.most_bytes:
                    raise WeatherUnavailable("The weather service's answer is too long to be a forecast.")
                if time.monotonic() > ends_s:
                    raise _Passing("The weather service's answer takes too long.")
        except HTTPError as fault:
            raise _Passing(_said(fault)) from fault
        if answer.length_remaining:
            raise _Passing("The weather service's answer breaks off.")
        return b"".join(pieces).decode("utf-8", errors="replace")


def _short(validator: str) -> str:
    return validator if len(validator) <= LONGEST_VALIDATOR else ""


def _said(fault: HTTPError) -> str:
    if isinstance(fault, urllib3.exceptions.NewConnectionError):
        return "The weather service cannot be reached."
    if isinstance(fault, urllib3.exceptions.TimeoutError):
        return "The weather service does not answer in time."
    if isinstance(fault, urllib3.exceptions.ProtocolError | urllib3.exceptions.DecodeError):
        return "The weather service's answer breaks off."
    return "The weather service cannot be reached."


def fresh_until(headers: Mapping[str, str], now: datetime) -> datetime:
    """Until when an answer need not be asked for again (RFC 9111, sections 4.2 and 5.2), at most a day."""
    said = dict(_directives(headers.get("Cache-Control", "")))
    if "no-store" in said or "no-cache" in said:
        return now
    age = timedelta(seconds=_whole(headers.get("Age", "")) or 0)
    max_age = _whole(said.get("max-age", ""))
    expires, dated = _http_date(headers.get("Expires", "")), _http_date(headers.get("Date", ""))
    if max_age is not None:
        fresh = timedelta(seconds=max_age) - age
    elif "Expires" in headers:
        # "Expires: 0" and other words that are no date mean that it already has.
        fresh = expires - (dated or now) if expires else timedelta(0)
    else:
        fresh = UNSAID_FRESH
    return now + min(max(fresh, timedelta(0)), LONGEST_FRESH)


def rest_asked(retry_after: str, now: datetime) -> timedelta | None:
    """How long ``Retry-After`` asks to be left alone (RFC 9110, section 10.2.3), at most six hours."""
    seconds = _whole(retry_after)
    moment = _http_date(retry_after)
    if seconds is None and moment is None:
        return None
    rest = timedelta(seconds=seconds) if seconds is not None else (moment or now) - now
    return min(max(rest, timedelta(0)), LONGEST_REST)


def _directives(text: str) -> list[tuple[str, str]]:
    pairs = (part.strip().partition("=") for part in text.lower().split(","))
    return [(name.strip(), value.strip(' "')) for name, _, value in pairs]


def _whole(text: str) -> int | None:
    """Seconds as a header tells them, at most a year."""
    text = text.strip()
    return min(int(text[:9]), 31_536_000) if text.isascii() and text.isdigit() else None


def _http_date(text: str) -> datetime | None:
    try:
        moment = parsedate_to_datetime(text)
    except ValueError:
        return None
    return moment if moment.tzinfo else moment.replace(tzinfo=UTC)

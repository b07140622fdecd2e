"""A text service for tests: takes texts, or fails, as Twilio's and SMSEagle's do, and keeps what it took.

By itself, `python -m tests.smsstub --port 8099 --delay 0.1 --log taken.jsonl`: each text it takes is a line
of the log, with the key it was handed over under; `--receipts delivered` has it call back as well.
"""

import argparse
import json
import threading
import time
import urllib.request
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from itertools import count
from pathlib import Path
from typing import Any, ClassVar
from urllib.parse import parse_qsl, urlencode, urlsplit

from twilio.request_validator import RequestValidator

TOKEN = "token-of-the-stand-in"

# Status, error code and headers of each way to fail; as Twilio's documentation gives them.
FAILURES: dict[str, tuple[int, int, dict[str, str]]] = {
    "busy": (429, 20429, {"Retry-After": "120"}),
    "broken": (500, 20500, {}),
    "overloaded": (503, 20503, {}),
    "bad gateway": (502, 0, {}),
    "wrong token": (401, 20003, {}),
    "bad number": (400, 21211, {}),
    "opted out": (400, 21610, {}),
    "empty": (400, 21602, {}),
}


@dataclass(frozen=True)
class Taken:
    """A text the service accepted."""

    sid: str
    key: str
    to: str
    body: str
    callback: str
    at: float


@dataclass
class Desk:
    """What the stand-in does with each text, and what it has accepted."""

    token: str = TOKEN
    delay_s: float = 0.0
    slow_s: float = 1.0
    log: Path | None = None
    receipts: tuple[str, ...] = ()
    # For a number, what happens to the texts to it, one after the other; "accept" where nothing is left.
    plans: dict[str, list[str]] = field(default_factory=dict)
    taken: list[Taken] = field(default_factory=list)
    asked: int = 0
    _numbers: Iterator[int] = field(default_factory=lambda: count(1))
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def next_for(self, phone: str) -> str:
        with self._lock:
            self.asked += 1
            plan = self.plans.get(phone)
            return plan.pop(0) if plan else "accept"

    def accept(self, *, key: str, to: str, body: str, callback: str) -> Taken:
        with self._lock:
            taken = Taken(f"SM{next(self._numbers):032x}", key, to, body, callback, time.time())
            self.taken.append(taken)
            if self.log:
                with self.log.open("a", encoding="utf-8") as lines:
                    lines.write(json.dumps({**taken.__dict__}) + "\n")
        if self.receipts and callback:
            threading.Thread(target=self.call_back, args=(taken,), daemon=True).start()
        return taken

    def call_back(self, taken: Taken) -> None:
        for status in self.receipts:
            fields = {"MessageSid": taken.sid, "MessageStatus": status, "To": taken.to}
            post_signed(taken.callback, fields, self.token)


def signature(url: str, fields: Mapping[str, str], token: str = TOKEN) -> str:
    """As the service signs a call to this address."""
    return RequestValidator(token).compute_signature(url, dict(fields))


def post_signed(url: str, fields: Mapping[str, str], token: str = TOKEN) -> int:
    """Call back as the service does; the status of the answer."""
    headers = {"X-Twilio-Signature": signature(url, fields, token)}
    asked = urllib.request.Request(url, data=urlencode(fields).encode(), headers=headers)
    with urllib.request.urlopen(asked, timeout=10) as answer:
        return int(answer.status)


class Counter(BaseHTTPRequestHandler):
    """Speaks for the desk."""

    desk: ClassVar[Desk]
    protocol_version = "HTTP/1.1"

    def do_GET(self) -> None:
        self._say(200, [taken.__dict__ for taken in self.desk.taken])

    def do_POST(self) -> None:
        given = self.rfile.read(int(self.headers["Content-Length"])).decode()
        if urlsplit(self.path).path.endswith("/Messages.json"):
            form = dict(parse_qsl(given))
            self._take(form["To"], form.get("Body", ""), form.get("StatusCallback", ""), self._as_twilio)
        else:
            told = json.loads(given)["params"]
            self._take(told["to"], told["message"], "", self._as_smseagle)

    def _take(self, to: str, body: str, callback: str, answer: Any) -> None:
        plan = self.desk.next_for(to)
        time.sleep(self.desk.slow_s if plan == "slow" else self.desk.delay_s)
        if plan in FAILURES:
            status, code, headers = FAILURES[plan]
            self._say(status, {"code": code or None, "message": plan, "status": status}, headers)
            return
        key = self.headers.get("Idempotency-Key", "")
        taken = self.desk.accept(key=key, to=to, body=body, callback=callback)
        if plan == "hang up":  # the text is taken, and nobody is told
            self.close_connection = True
            self.connection.close()
            return
        answer(taken)

    def _as_twilio(self, taken: Taken) -> None:
        self._say(201, {"sid": taken.sid, "status": "queued", "to": taken.to, "error_code": None})

    def _as_smseagle(self, taken: Taken) -> None:
        self._say(200, {"result": [{"message_id": taken.sid, "status": "ok"}]})

    def _say(self, status: int, said: Any, headers: Mapping[str, str] | None = None) -> None:
        body = json.dumps(said).encode()
        self.send_response(status)
        for name, value in {**(headers or {}), "Content-Type": "application/json"}.items():
            self.send_header(name, value)
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *args: Any) -> None:
        """Nothing: the desk keeps what matters."""


class Street(ThreadingHTTPServer):
    """Many may come at once, as when four workers send."""

    daemon_threads = True
    request_queue_size = 128

    def handle_error(self, request: Any, client_address: Any) -> None:
        """A caller who was killed or would not wait is no news."""


def server_for(desk: Desk, port: int = 0) -> Street:
    return Street(("127.0.0.1", port), type("Counter", (Counter,), {"desk": desk}))


@contextmanager
def running(desk: Desk) -> Iterator[str]:
    """The stand-in on a port of its own; its address."""
    server = server_for(desk)
    thread = threading.Thread(target=server.serve_forever, args=(0.02,), daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}"
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--port", type=int, default=8099)
    asked.add_argument("--delay", type=float, default=0.0, help="seconds before each answer")
    asked.add_argument("--log", type=Path, help="a file that gets a line of JSON for each accepted text")
    asked.add_argument("--receipts", default="", help="statuses to call back with, as sent,delivered")
    asked.add_argument("--token", default=TOKEN)
    given = asked.parse_args()
    receipts = tuple(status for status in given.receipts.split(",") if status)
    desk = Desk(token=given.token, delay_s=given.delay, log=given.log, receipts=receipts)
    server_for(desk, given.port).serve_forever()


if __name__ == "__main__":
    main()

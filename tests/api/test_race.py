"""Two people at the same second, against a real server with two workers."""

import json
import os
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Barrier
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]
PASSWORD = "pour-early-pour-well"
ROWS = f"""
from tests import factories
from scheduling.roles import Role
factories.company()
factories.user(Role.OFFICE, username="olive", password="{PASSWORD}")
factories.crew(pk=1); factories.mix(pk=1); factories.job(pk=1)
"""

Answer = tuple[int, dict[str, Any]]


def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as listener:
        return listener.getsockname()[1]


def ask(url: str, body: dict[str, Any], token: str = "") -> Answer:
    headers = {"Content-Type": "application/json", **({"Authorization": f"Bearer {token}"} if token else {})}
    request = urllib.request.Request(url, json.dumps(body).encode(), headers)
    try:
        with urllib.request.urlopen(request, timeout=60) as answer:
            return answer.status, json.load(answer)
    except urllib.error.HTTPError as refused:
        return refused.code, json.load(refused)


@pytest.fixture
def door(tmp_path) -> Iterator[Callable[[str, dict], Answer]]:
    """Asks a server of its own, on SQLite, as somebody in the office."""
    kept = {name: value for name, value in os.environ.items() if name not in ("DATABASE_URL", "REDIS_URL")}
    env = {
        **kept,
        "POURPLAN_VAR": str(tmp_path),
        "ALLOWED_HOSTS": "127.0.0.1",
        "PUBLIC_URL": "http://127.0.0.1",
    }
    for command in (["migrate", "-v", "0"], ["shell", "-v", "0", "-c", ROWS]):
        subprocess.run([sys.executable, "manage.py", *command], cwd=ROOT, env=env, check=True)
    port = free_port()
    gunicorn = [sys.executable, "-m", "gunicorn", "-w", "2", "-b", f"127.0.0.1:{port}", "pourplan.wsgi"]
    with (tmp_path / "log").open("w") as log:
        server = subprocess.Popen(gunicorn, cwd=ROOT, env=env, stderr=log)
    try:
        url = f"http://127.0.0.1:{port}/api/v1/"
        token = sign_in(url)
        yield lambda path, body: ask(url + path, body, token)
    finally:
        server.terminate()
        server.wait(timeout=20)


def sign_in(url: str) -> str:
    deadline = time.monotonic() + 60
    while time.monotonic() < deadline:
        try:
            return ask(f"{url}tokens/", {"username": "olive", "password": PASSWORD})[1]["token"]
        except urllib.error.URLError:
            time.sleep(0.2)
    raise TimeoutError("The server did not come up.")


def at_once(ask_one: Callable[[int], Answer], count: int = 2) -> list[Answer]:
    ready = Barrier(count)

    def go(n: int) -> Answer:
        ready.wait()
        return ask_one(n)

    with ThreadPoolExecutor(count) as people:
        return list(people.map(go, range(count)))


@pytest.mark.slow
def test_of_two_who_book_one_crew_or_change_one_pour_at_once_the_second_is_told(door):
    for day in range(10, 15):
        booking = {
            "job": 1,
            "mix": 1,
            "crew": 1,
            "starts_at": f"2099-06-{day}T07:00",
            "sections": [{"length": "20 ft", "width": "20 ft", "depth": "4 in"}],
        }
        booked = at_once(lambda _, booking=booking: door("pours/", booking))
        assert sorted(status for status, _ in booked) == [201, 409]
        pour = next(body for status, body in booked if status == 201)
        hold = f"pours/{pour['id']}/hold/"
        held = at_once(lambda n, hold=hold: door(hold, {"version": 1, "reason": f"person {n}"}))
        assert sorted(status for status, _ in held) == [200, 412]

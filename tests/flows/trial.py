"""A house of real parts: PostgreSQL, Redis, worker processes, and a text service that keeps what it takes."""

import os
import random
import signal
import socket
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlsplit, urlunsplit
from uuid import uuid4

import psycopg
from celery import Celery

from tests.flows.servers import free_port
from tests.smsstub import TOKEN, Desk, running

ROOT = Path(__file__).resolve().parents[2]
STARTING_S = 5.0  # a worker whose first hands are killed ends: that is for its supervisor, not for us
SWEEP = "scheduling.tasks.send_due_messages"

FILL = """
from datetime import timedelta
from django.core.management import call_command
from django.utils import timezone
from scheduling.models import Message, MessageKind, MessageState, User
call_command("migrate", verbosity=0)
now = timezone.now()
people = [
    User(username=f"person {n}", phone=f"+1913555{n:04d}", texts_agreed_at=now, password="!")
    for n in range(100, 200)
]
User.objects.bulk_create(people)
Message.objects.bulk_create(
    Message(
        key=f"text {n}", kind=MessageKind.REMINDER, recipient=people[n % len(people)], body=f"number {n}",
        made_at=now, due_at=now, next_try_at=now, useful_until=now + timedelta(hours=2),
    )
    for n in range(TEXTS)
)
"""


@dataclass
class Worker:
    """A worker process with its hands, the processes that do the tasks."""

    process: subprocess.Popen[bytes]
    began_s: float

    def children(self) -> list[int]:
        pid = self.process.pid
        listing = Path(f"/proc/{pid}/task/{pid}/children")
        try:
            return [int(child) for child in listing.read_text().split()]
        except FileNotFoundError:
            return []

    def kill(self) -> None:
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()


@dataclass
class House:
    """Where everything is, and the processes that run in it."""

    env: dict[str, str]
    desk: Desk
    database: str
    redis_port: int
    folder: Path
    task: str = SWEEP  # what the clock rings for
    redis: subprocess.Popen[bytes] | None = None
    workers: list[Worker] = field(default_factory=list)
    luck: random.Random = field(default_factory=lambda: random.Random(20261125))

    # --- what is kept ---------------------------------------------------------------------------

    def python(self, code: str) -> str:
        """Run a piece of code in a process of its own that knows the house's settings."""
        whole = f"import django\ndjango.setup()\n{code}"
        run = subprocess.run(
            [sys.executable, "-c", whole], cwd=ROOT, env=self.env, text=True, capture_output=True, timeout=300
        )
        assert run.returncode == 0, run.stderr
        return run.stdout

    def fill(self, texts: int) -> None:
        self.python(FILL.replace("TEXTS", str(texts)))

    def rows(self, query: str) -> list[tuple]:
        with psycopg.connect(self.database, autocommit=True) as connection:
            return connection.execute(query).fetchall()

    def states(self) -> Counter[str]:
        return Counter(dict(self.rows("select state, count(*) from scheduling_message group by state")))

    def give_up_the_lost(self) -> None:
        """What the timetable does of itself once a claim is old."""
        self.python(
            "from datetime import timedelta\n"
            "from django.utils import timezone\n"
            "from scheduling.services import outbox\n"
            "outbox.mark_lost(now=timezone.now() + timedelta(minutes=6))"
        )

    # --- processes ------------------------------------------------------------------------------

    def start_redis(self) -> None:
        command = ["redis-server", "--port", str(self.redis_port), "--bind", "127.0.0.1", "--save", ""]
        self.redis = subprocess.Popen(command, stdout=subprocess.DEVNULL, cwd=self.folder)
        wait_until(lambda: answers(self.redis_port), 10)

    def stop_redis(self) -> None:
        if self.redis:
            self.redis.kill()
            self.redis.wait()
            self.redis = None

    def flush_redis(self) -> None:
        with socket.create_connection(("127.0.0.1", self.redis_port)) as line:
            line.sendall(b"FLUSHALL\r\n")
            assert line.recv(64) == b"+OK\r\n"

    def start_worker(self, hands: int = 2) -> None:
        command = [sys.executable, "-m", "celery", "-A", "pourplan", "worker", "-P", "prefork"]
        command += ["-c", str(hands), "-l", "WARNING", "-n", f"{uuid4().hex}@trial"]
        command += ["--without-gossip", "--without-mingle"]
        log = (self.folder / f"worker {len(self.workers)}.log").open("wb")
        process = subprocess.Popen(
            command, cwd=ROOT, env=self.env, stdout=log, stderr=log, start_new_session=True
        )
        self.workers.append(Worker(process, time.monotonic()))

    def alive(self) -> list["Worker"]:
        return [worker for worker in self.workers if worker.process.poll() is None]

    def keep_workers(self, wanted: int) -> None:
        """Start again what has ended, as a supervisor does."""
        for _ in range(wanted - len(self.alive())):
            self.start_worker()

    def hands(self, up_s: float = 0.0) -> list[int]:
        """Processes that send: the children of the workers that have been up so long."""
        up = [worker for worker in self.alive() if time.monotonic() - worker.began_s >= up_s]
        return [pid for worker in up for pid in worker.children()]

    def kill_a_hand(self) -> bool:
        """Kill -9 one of the processes that send, whichever it is; none of a worker still starting."""
        hands = self.hands(STARTING_S)
        if not hands:
            return False
        try:
            os.kill(self.luck.choice(hands), signal.SIGKILL)
        except ProcessLookupError:
            return False
        return True

    def kill_a_worker(self) -> None:
        """Kill -9 a whole worker with its hands."""
        self.luck.choice(self.alive()).kill()

    def stop(self) -> None:
        for worker in self.alive():
            worker.kill()
        self.stop_redis()

    # --- the clock ------------------------------------------------------------------------------

    def ring(self, times: int = 1) -> None:
        """What beat does: ask for the task, or for several at once; a broker that is away is passed over."""
        for _ in range(times):
            try:
                self.bell.send_task(self.task, retry=False, ignore_result=True, expires=30)
            except Exception:
                return

    @property
    def bell(self) -> Celery:
        options = {"socket_connect_timeout": 0.2, "socket_timeout": 0.5, "max_retries": 0}
        app = Celery(broker=self.env["REDIS_URL"], set_as_current=False)
        app.conf.broker_transport_options = options
        return app

    def ring_until(
        self, done, seconds: float, every: float = 0.3, times: int = 1, beat_s: float = 0.0
    ) -> None:
        """Ring all along, at most every `beat_s`, until something holds."""
        rang = float("-inf")

        def rung() -> bool:
            nonlocal rang
            if time.monotonic() - rang >= beat_s:
                rang = time.monotonic()
                self.ring(times)
            return bool(done())

        wait_until(rung, seconds, every)

    def nothing_waits(self) -> bool:
        states = self.states()
        return not states["queued"] and not states["sending"]


def wait_until(holds, seconds: float, every: float = 0.1) -> None:
    until = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < until, f"not within {seconds} s"
        time.sleep(every)


def answers(port: int) -> bool:
    with socket.socket() as line:
        return line.connect_ex(("127.0.0.1", port)) == 0


@contextmanager
def a_database(server: str) -> Iterator[str]:
    """A database of its own on the server at that address."""
    name = f"trial_{uuid4().hex}"
    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(f"create database {name}")
    try:
        yield urlunsplit(urlsplit(server)._replace(path=f"/{name}"))
    finally:
        with psycopg.connect(server, autocommit=True) as connection:
            connection.execute(f"drop database {name} with (force)")


@contextmanager
def a_house(folder: Path, server: str, delay_s: float) -> Iterator[House]:
    """Everything but workers, running; all of it is stopped at the end."""
    desk, port = Desk(delay_s=delay_s), free_port()
    with a_database(server) as database, running(desk) as address:
        env = {name: value for name, value in os.environ.items() if not name.startswith("POURPLAN_TEST")}
        env |= {
            "DJANGO_SETTINGS_MODULE": "pourplan.settings",
            "POURPLAN_VAR": str(folder / "var"),
            "SECRET_KEY": "k" * 50,
            "DATABASE_URL": database,
            "REDIS_URL": f"redis://127.0.0.1:{port}/0",
            "TEXT_GATEWAY": "twilio",
            "TWILIO_ACCOUNT_SID": "AC" + "0" * 32,
            "TWILIO_AUTH_TOKEN": TOKEN,
            "TWILIO_FROM": "+19135550100",
            "TWILIO_API_URL": address,
            "TEXTS_A_MINUTE": "100000",
            "TEXTS_A_PERSON_AN_HOUR": "10000",
        }
        house = House(env, desk, database, port, folder)
        house.start_redis()
        try:
            yield house
        finally:
            house.stop()

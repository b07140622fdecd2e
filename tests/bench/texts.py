"""How long texts that are all due at once wait for a service that takes a tenth of a second over each."""

import statistics
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from urllib.parse import urlencode
from urllib.request import Request, urlopen

from tests.flows.servers import a_postgres
from tests.flows.trial import House, a_house

TEXTS = 5_000
WORKERS = (1, 2, 4)
HANDS = 4  # processes of one worker that send
DELAY_S = 0.1
BEAT_S = 30.0  # how often the timetable rings; in between, workers call each other
COUNTED = 50

COUNT = f"""
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from scheduling.services import outbox
with CaptureQueriesContext(connection) as asked:
    sent = outbox.send_due(now=timezone.now(), limit={COUNTED})
print(len(asked) / sent)
"""


def waits_s(server: str, workers: int) -> list[float]:
    """Seconds from due to accepted, of every text."""
    with tempfile.TemporaryDirectory() as folder, a_house(Path(folder), server, DELAY_S) as house:
        house.fill(TEXTS)
        for _ in range(workers):
            house.start_worker(HANDS)
        wait_for_hands(house, workers * HANDS)
        # Due from the moment the first bell rings, with the workers up and waiting.
        began = time.time()
        house.ring_until(lambda: len(house.desk.taken) >= TEXTS, 1800, every=BEAT_S / 30, beat_s=BEAT_S)
        return sorted(taken.at - began for taken in house.desk.taken)


def wait_for_hands(house: House, hands: int) -> None:
    while len(house.hands()) < hands:
        time.sleep(0.2)
    time.sleep(3)  # the workers have their processes before they listen


def queries_per_text(server: str) -> float:
    with tempfile.TemporaryDirectory() as folder, a_house(Path(folder), server, 0.0) as house:
        house.fill(COUNTED)
        return float(house.python(COUNT))


def bare_s(server: str) -> float:
    """The same texts posted by a bare loop in as many threads as one worker has hands."""
    with tempfile.TemporaryDirectory() as folder, a_house(Path(folder), server, DELAY_S) as house:
        address = f"{house.env['TWILIO_API_URL']}/2010-04-01/Accounts/AC0/Messages.json"

        def post(number: int) -> None:
            body = urlencode({"To": "+19135550142", "From": "+19135550100", "Body": f"number {number}"})
            with urlopen(Request(address, data=body.encode()), timeout=30) as answer:
                answer.read()

        began = time.monotonic()
        with ThreadPoolExecutor(HANDS) as hands:
            list(hands.map(post, range(TEXTS)))
        return time.monotonic() - began


def run() -> dict[str, float]:
    figures: dict[str, float] = {}
    print(
        f"{TEXTS:,} texts due at once, a service that takes {DELAY_S:g} s over each, {HANDS} hands a worker\n"
    )
    print(f"{'':>12} {'median s':>9} {'p95 s':>9} {'last s':>9} {'a second':>9}")
    with a_postgres() as postgres:
        for workers in WORKERS:
            waits = waits_s(postgres.url, workers)
            p95 = waits[int(0.95 * len(waits))]
            named = f"{workers} worker{'' if workers == 1 else 's'}"
            print(
                f"{named:>12} {statistics.median(waits):>9.1f} {p95:>9.1f} {waits[-1]:>9.1f} "
                f"{len(waits) / waits[-1]:>9.1f}"
            )
            figures[f"p95_s_{workers}worker{'' if workers == 1 else 's'}"] = p95
        figures["bare_s"] = bare_s(postgres.url)
        print(
            f"{'bare loop':>12} {'':>9} {'':>9} {figures['bare_s']:>9.1f} {TEXTS / figures['bare_s']:>9.1f}"
        )
        figures["queries_per_text"] = queries_per_text(postgres.url)
    print(f"\n{figures['queries_per_text']:.2f} queries a text")
    return figures

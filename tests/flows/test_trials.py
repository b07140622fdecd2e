"""Texts on real parts while things break: no text is lost, and none goes out twice."""

import time
from collections.abc import Iterator

import pytest

from tests.flows.servers import Postgres, a_postgres
from tests.flows.trial import House, a_house, wait_until

pytestmark = [pytest.mark.slow, pytest.mark.trial]

TEXTS, KILLS = 1500, 100


@pytest.fixture(scope="module")
def postgres() -> Iterator[Postgres]:
    with a_postgres() as server:
        yield server


@pytest.fixture
def delay_s() -> float:
    """How long the service takes over a text."""
    return 0.03


@pytest.fixture
def house(tmp_path, postgres, delay_s):
    with a_house(tmp_path, postgres.url, delay_s) as made:
        yield made


def keys_taken(house: House) -> list[str]:
    return [taken.key for taken in house.desk.taken]


def assert_nothing_lost_or_doubled(house: House, texts: int, unsure_at_most: int) -> None:
    """Every text is sent, or marked for a person to look after; the service took none of them twice."""
    states, taken = house.states(), keys_taken(house)
    assert states["sent"] + states["unknown"] == texts, states
    assert states["unknown"] <= unsure_at_most, states
    assert len(taken) == len(set(taken))
    sent = {f"{key}#0" for (key,) in house.rows("select key from scheduling_message where state = 'sent'")}
    assert sent <= set(taken)
    assert len(taken) <= texts


@pytest.mark.parametrize("delay_s", [0.1])
def test_a_hundred_kills_lose_no_text_and_double_none(house):
    """Over 1,000 texts while sending processes are killed, a hundred times; every tenth a whole worker."""
    house.fill(TEXTS)
    house.start_worker()
    house.start_worker()
    house.ring_until(lambda: len(house.desk.taken) > 10, 60)
    kills = 0
    while kills < KILLS:
        house.keep_workers(2)
        house.ring()
        time.sleep(house.luck.uniform(0.05, 0.3))
        if kills % 10 == 9:
            house.kill_a_worker()
            kills += 1
        elif house.kill_a_hand():
            kills += 1
    assert house.states()["queued"], "the texts ran out before the kills"
    house.keep_workers(2)
    house.ring_until(lambda: not house.states()["queued"], 180)
    wait_until(lambda: quiet(house), 30)
    house.give_up_the_lost()
    # A killed worker takes both its hands with it, and a hand has one text in flight at most.
    assert_nothing_lost_or_doubled(house, TEXTS, unsure_at_most=KILLS + KILLS // 10)


def quiet(house: House) -> bool:
    """Whether nobody has taken anything for a while."""
    before = len(house.desk.taken)
    time.sleep(1)
    return len(house.desk.taken) == before


def test_a_queue_that_is_emptied_delays_texts_and_loses_none(house):
    house.fill(200)
    house.start_worker()
    house.ring_until(lambda: len(house.desk.taken) > 20, 60)
    for _ in range(5):
        house.flush_redis()
        time.sleep(0.2)
    house.ring_until(house.nothing_waits, 60)
    assert_nothing_lost_or_doubled(house, 200, unsure_at_most=0)


def test_a_broker_that_is_down_delays_texts_and_loses_none(house):
    """Down for a minute: the workers come back by themselves when it does."""
    house.fill(300)
    house.start_worker()
    house.ring_until(lambda: len(house.desk.taken) > 10, 60)
    house.stop_redis()
    time.sleep(60)
    house.start_redis()
    house.ring_until(house.nothing_waits, 120)
    assert_nothing_lost_or_doubled(house, 300, unsure_at_most=0)


def test_two_clocks_and_every_task_three_times_send_each_text_once(house):
    house.fill(300)
    house.start_worker()
    house.start_worker()
    house.ring_until(house.nothing_waits, 90, every=0.2, times=6)
    assert_nothing_lost_or_doubled(house, 300, unsure_at_most=0)


def test_a_database_that_restarts_costs_no_text(house, postgres):
    house.fill(300)
    house.start_worker()
    house.ring_until(lambda: len(house.desk.taken) > 30, 60)
    postgres.restart()
    house.ring_until(lambda: not house.states()["queued"], 90)
    wait_until(lambda: quiet(house), 30)
    house.give_up_the_lost()
    # Each of the two hands may have handed one over and then found nobody to note it.
    assert_nothing_lost_or_doubled(house, 300, unsure_at_most=2)

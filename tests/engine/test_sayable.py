import numpy as np
import pytest

from scheduling.engine.sayable import Sayable, Search, every


def test_a_plan_says_when_each_load_is_due():
    assert Sayable(2, 25, 15).asked_min(5).tolist() == [0, 0, 25, 40, 55]
    assert Sayable(2, 25, 15).intervals_min(5).tolist() == [0, 25, 15, 15]
    assert every(20).asked_min(3).tolist() == [0, 20, 40]
    assert every(20, first_together=3).asked_min(3).tolist() == [0, 0, 0]


def test_a_plan_knows_how_plain_it_is():
    assert every(20).simple
    assert every(20).in_fives
    assert not Sayable(1, 10, 15).simple
    assert Sayable(1, 10, 15).in_fives
    assert not Sayable(1, 10, 14).in_fives


class Asked:
    """A cost that grows with the distance from what is wanted, and how often it was asked for."""

    def __init__(self, wanted, floor=100.0, weight=1.0):
        self.wanted = np.array(wanted, float)
        self.floor, self.weight = floor, weight
        self.times = 0

    def __call__(self, asked_min):
        self.times += 1
        return self.floor + self.weight * float(np.abs(asked_min - self.wanted).sum())


def search(wanted, near=12.0, most_together=3, **shape):
    cost = Asked(wanted, **shape)
    return Search(len(wanted), cost, cost, cost, most_together, near), cost


@pytest.mark.parametrize(
    "plan", [every(17), every(23, first_together=2), every(9, first_together=3), every(41), every(1)]
)
def test_the_plan_that_costs_least_is_found(plan):
    found, cost = search(plan.asked_min(8))
    assert found.simple() == plan
    assert cost.times < 150


def test_whole_fives_are_said_where_they_lose_little():
    wanted = every(19).asked_min(6)
    assert search(wanted, weight=0.01)[0].simple() == every(20)
    assert search(wanted, weight=1.0)[0].simple() == every(19)


def test_no_more_trucks_come_together_than_there_can_be():
    wanted = every(20, first_together=3).asked_min(7)
    assert search(wanted)[0].simple().first_together == 3
    assert search(wanted, most_together=2)[0].simple().first_together <= 2
    assert search(wanted, most_together=1)[0].simple().first_together == 1


def test_at_least_one_truck_is_left_for_an_interval():
    assert search([0.0, 10.0])[0].simple() == every(10)


def test_the_first_gap_is_found_where_it_is_its_own():
    wanted = Sayable(2, 27, 16)
    found, _ = search(wanted.asked_min(9))
    assert found.with_first_gap(found.simple(), wanted.intervals_min(9)) == wanted


def test_both_gaps_are_said_in_fives_where_that_loses_little():
    wanted = Sayable(1, 9, 16)
    found, _ = search(wanted.asked_min(5), weight=0.01)
    assert found.with_first_gap(found.simple(), wanted.intervals_min(5)) == Sayable(1, 10, 15)


def test_where_waiting_costs_nothing_the_search_still_ends():
    found = search([0.0] * 5, floor=0, weight=0)[0].simple()
    assert found.interval_min == 240  # our choice of the longest that is still one pour


def test_few_days_only_lead_the_way():
    rough, close, final = (Asked(every(minutes).asked_min(6)) for minutes in (22, 19, 18))
    assert Search(6, rough, close, final, 3, 12.0).simple() == every(18)
    assert rough.times > close.times + final.times

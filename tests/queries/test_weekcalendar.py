"""Rules of the week that rest on rows: who is away, what is allowed when, what is open, what was promised."""

from datetime import date, time, timedelta

import pytest

from scheduling.models import PlantFee, PlantOpening, Worker
from scheduling.queries.holidays import day_fee, holiday_name
from scheduling.queries.weekrules import broken_rules
from scheduling.services import cures
from tests import factories
from tests.queries.test_clashes import DAY, at, planned

pytestmark = pytest.mark.django_db

NEXT = DAY + timedelta(days=1)
YD3 = 0.764554857984


def found(start=DAY, end=NEXT, now=factories.NOW):
    factories.company()
    return {one.code: one for one in broken_rules(start, end, now)}


def test_somebody_on_leave_is_missing_until_they_are_back():
    crew = factories.crew(people=3)
    planned(crew, ("place", 7, 9, 3), ("finish", 9, 11, 2))
    who = crew.workers.first()
    factories.absence(worker=who, starts_at=at(5), ends_at=at(8))
    broken = found()["people_away"]
    assert (broken.starts_at, broken.ends_at) == (at(7), at(8))
    assert (broken.who, broken.needed, broken.available) == (crew.name, 3, 2)


def test_leave_that_ends_as_the_work_begins_is_no_trouble():
    crew = factories.crew(people=3)
    planned(crew, ("place", 7, 9, 3))
    factories.absence(worker=crew.workers.first(), starts_at=at(5), ends_at=at(7))
    assert found() == {}


def test_leave_entered_twice_is_one_person_away():
    crew = factories.crew(people=4)
    planned(crew, ("place", 7, 9, 3))
    for _ in range(2):
        factories.absence(worker=crew.workers.first(), starts_at=at(5), ends_at=at(12))
    assert found() == {}


def test_a_whole_crew_on_leave():
    crew = factories.crew(people=6)
    planned(crew, ("place", 7, 9, 3))
    factories.absence(crew=crew, starts_at=at(8), ends_at=at(17))
    broken = found()["crew_away"]
    assert (broken.who, broken.starts_at, broken.ends_at) == (crew.name, at(8), at(9))


def test_nobody_who_can_finish_is_there_while_the_finisher_is_away():
    crew = factories.crew(people=3)
    crew.workers.update(finishes=False)
    finisher = Worker.objects.create(name="Kim", crew=crew, finishes=True)
    planned(crew, ("place", 7, 9, 3), ("finish", 9, 11, 2))
    assert "skill_missing" not in found()
    factories.absence(worker=finisher, starts_at=at(10), ends_at=at(12))
    assert found()["skill_missing"].kinds == ("finish",)


def test_a_skill_that_nobody_entered_for_anybody_breaks_nothing():
    crew = factories.crew(people=3)
    crew.workers.update(finishes=False, saws=False)
    planned(crew, ("place", 7, 9, 3), ("finish", 9, 11, 2), ("cut", 13, 14, 1))
    assert found() == {}


def test_the_one_saw_is_out_of_use():
    saw = factories.equipment(kind="saw")
    planned(factories.crew(people=6), ("place", 7, 9, 3), ("cut", 13, 15, 1))
    factories.absence(unit=saw, starts_at=at(14), ends_at=at(16))
    broken = found()["gear_short"]
    assert (broken.starts_at, broken.ends_at, broken.who) == (at(14), at(15), "saw")


def test_work_before_the_permits_hours_and_on_a_day_it_does_not_name():
    pour = planned(factories.crew(people=6), ("place", 6, 9, 3))
    factories.site_hours(pour.job.site)
    assert found()["outside_permit"].who == pour.job.site.name
    pour.job.site.hours.update(opens_at=time(6), weekdays=[DAY.weekday()])
    assert "outside_permit" not in found()
    pour.job.site.hours.update(weekdays=[(DAY.weekday() + 1) % 7])
    assert "outside_permit" in found()


def test_a_seasons_curfew_goes_before_the_sites_own_hours():
    pour = planned(factories.crew(people=6), ("place", 7, 9, 3))
    site = pour.job.site
    site.loud_from, site.loud_until = time(7), time(19)
    site.save()
    assert "outside_loud_hours" not in found()
    factories.site_hours(site, kind="loud", opens_at=time(9), first_on=DAY.date(), last_on=DAY.date())
    assert "outside_loud_hours" in found()


def test_placed_before_sunrise_outdoors_is_said_and_indoors_not():
    pour = planned(factories.crew(people=6), ("place", 4, 6, 3))
    assert found()["placed_in_the_dark"].severity == "caution"
    pour.indoors = True
    pour.save()
    assert "placed_in_the_dark" not in found()


def test_a_promise_is_kept_on_its_last_day_and_broken_on_the_next():
    pour = planned(factories.crew(people=6), ("place", 7, 9, 3))
    pour.promised_by = DAY.date()
    pour.save()
    assert found() == {}
    pour.promised_by -= timedelta(days=1)
    pour.save()
    assert found()["promise_broken"].pours == (pour,)


def test_forms_and_inspection_that_are_open():
    pour = planned(factories.crew(people=6), ("place", 7, 9, 3))
    assert found() == {}
    factories.paper(pour)
    factories.paper(pour, kind="inspection")
    broken = found()
    assert {"forms_not_released", "inspection_open"} <= broken.keys()
    for code, act in (("inspection_open", "pass_inspection"), ("forms_not_released", "release_forms")):
        (cure,) = cures.cures(key=broken[code].key, now=factories.NOW)
        assert (cure.remedy, cure.is_act, cure.starts_at) == (act, True, pour.starts_at)
    pour.papers.update(passed_at=factories.NOW, passed_by="Lee")
    assert found() == {}


def test_hours_and_rest_are_the_companys_own():
    planned(factories.crew(people=3), ("place", 7, 13, 3), ("finish", 13, 19.5, 3))
    assert "long_day" in found()
    company = factories.company(longest_day_h=13.0)
    assert broken_rules(DAY, NEXT, factories.NOW) == []
    company.longest_day_h = None
    company.save()
    assert broken_rules(DAY, NEXT, factories.NOW) == []


def test_a_load_too_heavy_for_the_road_in_its_season():
    """9 yd³ of 2,400 kg/m³ and a truck of 12 t: 28.5 t; the rest is ours."""
    pour = factories.pour(
        crew=factories.crew(people=6), sections=[{"length_m": 14, "width_m": 10, "depth_m": 0.1}]
    )
    pour.plant.truck_empty_kg, pour.plant.truck_m3 = 12_000, 9 * YD3
    pour.plant.save()
    factories.plan(pour)
    season = factories.road_season(site=pour.job.site, limit_kg=24_000)
    broken = found()["road_season"]
    assert broken.available == pytest.approx(5.0)
    assert broken.needed == pytest.approx(9 * YD3, abs=0.2)
    season.last_on = season.first_on
    season.save()
    assert "road_season" not in found()


def test_a_plan_made_in_the_season_keeps_its_loads_light():
    pour = factories.pour(
        crew=factories.crew(people=6), sections=[{"length_m": 14, "width_m": 10, "depth_m": 0.1}]
    )
    pour.plant.truck_empty_kg, pour.plant.truck_m3 = 12_000, 9 * YD3
    pour.plant.save()
    factories.road_season(site=pour.job.site, limit_kg=24_000)
    plan = factories.plan(pour)
    assert max(load["m3"] for load in plan.result["delivery"]["loads"]) <= 5.0
    assert "road_season" not in found()


# --- the plant's calendar ---------------------------------------------------------------------


def test_the_plants_last_batch_counts_not_the_end_of_placing():
    pour = factories.pour(crew=factories.crew(people=6))
    plan = factories.plan(pour)
    last = plan.result["delivery"]["loads"][-1]["batch_at"]
    assert "plant_shut" not in found()
    pour.plant.hours.update(last_batch_at=time(6, 5))  # 6:05 in Kansas City is 11:05 UTC
    assert last > "2026-08-28T11:05"
    assert found()["plant_shut"].who == pour.plant.name


def test_a_holiday_nobody_asked_the_plant_about_is_asked_not_taken_for_open():
    """Labor Day 2026 is 7 September, by 5 U.S.C. 6103 the first Monday in September."""
    company = factories.company(holiday_country="US", holiday_state="KS")
    labor_day = date(2026, 9, 7)
    assert holiday_name(company, labor_day)
    start = factories.STARTS_AT + timedelta(days=10)
    pour = factories.pour(crew=factories.crew(people=6), starts_at=start)
    factories.plan(pour)
    span = start - timedelta(hours=12), start + timedelta(hours=24)

    def said():
        return {one.code for one in broken_rules(*span, factories.NOW)}

    assert {"plant_unasked", "holiday"} <= said()
    pour.plant.open_on_holidays = False
    pour.plant.save()
    assert "plant_shut" in said()
    PlantOpening.objects.create(plant=pour.plant, on=labor_day, opens_at=time(5), closes_at=time(12))
    assert not {"plant_shut", "plant_unasked"} & said()
    factories.company(holiday_country="")
    assert said() == set()


def test_what_a_plant_asks_for_saturdays_sundays_and_holidays():
    """One supplier's own terms: 10 a yard; 2,000 and 20 a yard; 8,000 and 30 a yard. 45 yd³."""
    company = factories.company(holiday_country="US", holiday_state="KS")
    plant = factories.plant()
    for day, flat, a_yard in (("saturday", 0, 10), ("sunday", 2000, 20), ("holiday", 8000, 30)):
        PlantFee.objects.create(plant=plant, day=day, flat=flat, per_m3=a_yard / YD3)
    days = (date(2026, 9, 4), date(2026, 9, 5), date(2026, 9, 6), date(2026, 9, 7))
    fees = [day_fee(plant, company, day, 45 * YD3) for day in days]
    assert fees == pytest.approx([0, 450, 2900, 9350])

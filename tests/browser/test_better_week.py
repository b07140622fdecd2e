"""A dispatcher's week from a clash to a better week, while somebody else changes it too."""

import re
from datetime import UTC, datetime, time, timedelta

from django.utils import timezone
from playwright.sync_api import expect

from scheduling.models import Pour, PourState
from scheduling.services import planning, week, weekstarts
from tests.browser.looking import no_serious_faults
from tests.browser.served import MONDAY

# Thursday at eight: of the week's days Friday and Saturday are left to plan.
THURSDAY = datetime(2026, 9, 3, 13, 0, tzinfo=UTC)


def put_off_wednesday():
    """What crew Ash was booked twice with stands on Friday; Saturday is free."""
    Pour.objects.filter(title="drive").update(state=PourState.CANCELLED)
    for pour in Pour.objects.filter(title__in=("garage", "workshop")):
        pour.starts_at, pour.version = pour.starts_at + timedelta(days=2), 2
        pour.save()
        planning.plan_pour(pour=pour, by=None, now=THURSDAY)


def propose(page, asking):
    """Ask for a week, and see it come without loading the page anew."""
    page.get_by_role("button", name=asking).click()
    better = page.locator("#better-week")
    expect(better.get_by_role("status")).to_have_text("Waiting for a worker to begin.")
    week.work_due(clock=timezone.now)
    expect(better.get_by_role("button", name="Propose anew")).to_be_visible()
    return better


def take_the_rest(better):
    """“Move all”, or the one that is left."""
    better.get_by_role("button", name=re.compile("^Move")).last.click()


def test_a_clash_is_cured_and_a_better_week_taken_though_another_changes_it_meanwhile(
    browser_page, clock, monkeypatch
):
    monkeypatch.setattr(weekstarts, "CLOCKS", (time(8), time(10), time(13)))  # fewer starts, sooner done
    clock(THURSDAY)
    put_off_wednesday()
    page = browser_page("dispatch")
    page.goto(f"/week/?day={MONDAY}")
    to_settle = page.get_by_role("heading", name="to settle")
    expect(to_settle).to_be_visible()
    page.locator(".clashes li").first.get_by_role("link", name="What would cure it").click()
    page.get_by_role("button", name="Do it").first.click()
    expect(page.get_by_role("status")).to_contain_text("planned afresh")
    expect(to_settle).to_have_count(0)

    better = propose(page, "Propose a better week")
    # The workshop stands in the garage's way until it is moved too.
    better.get_by_role("button", name="Move this one Harrow Street garage").click()
    expect(page.get_by_role("alert")).to_contain_text("This clashes with what is booked")
    expect(page.get_by_role("button", name="Take it anyway")).to_be_visible()
    no_serious_faults(page)
    page.get_by_role("link", name="Leave the week as it is").click()
    better.get_by_role("button", name="Move this one Linden Court workshop").click()
    expect(better.get_by_text("moved", exact=True)).to_have_count(1)

    other = browser_page("office")
    other.goto(f"/week/?move={Pour.objects.get(title='ramp').pk}#move")
    other.get_by_label("First truck at").fill("09:30")
    other.get_by_role("button", name="Move it").click()
    expect(other.get_by_role("status")).to_contain_text("is moved")
    take_the_rest(better)
    expect(page.get_by_role("alert")).to_contain_text("Old Depot ramp was changed")
    expect(better).to_contain_text("nothing more of it can be taken")

    better = propose(page, "Propose anew")
    take_the_rest(better)
    expect(better).to_contain_text("The proposed week was accepted.")
    expect(to_settle).to_have_count(0)
    page.wait_for_load_state("networkidle")

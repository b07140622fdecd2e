"""A sheet of pours in a real browser: chosen, asked about, read in words, booked."""

from playwright.sync_api import expect

from scheduling.models import Pour
from tests.browser.looking import no_serious_faults, overflow

HEADER = "site;job;date;start;plant;mix;length;width;depth"


def test_a_sheet_of_an_office_program_is_asked_about_read_in_words_and_booked(browser_page):
    page = browser_page("office")
    like = Pour.objects.select_related("job__site", "mix__plant").first()
    known = (like.job.site.name, like.job.name), (like.mix.plant.name, like.mix.code)
    lines = [
        ";".join([*known[0], day, "7:00 am", *known[1], "12,5 m", "9 m", "125 mm"])
        for day in ("10/11/2026", "11/11/2026")
    ]
    before = Pour.objects.count()
    page.goto("/pours/book/")
    page.get_by_role("link", name="From a sheet").click()
    content = "\ufeff" + "\r\n".join([HEADER, *lines])
    file = {"name": "fall.csv", "mimeType": "text/csv", "buffer": content.encode()}
    page.get_by_label("The file").set_input_files(file)
    page.get_by_role("button", name="Show what it says").click()
    expect(page.get_by_role("alert")).to_contain_text("can be read two ways")
    page.get_by_label("Dates have").select_option("day_first")
    page.get_by_role("button", name="Show what it says").click()
    read = page.get_by_role("region", name="Lines")
    expect(read).to_contain_text("Tuesday, November 10 2026, 7:00 am")
    expect(read).to_contain_text("Wednesday, November 11 2026")
    assert Pour.objects.count() == before
    for width in (1440, 320):
        page.set_viewport_size({"width": width, "height": 900})
        no_serious_faults(page)
        assert not overflow(page)
    page.get_by_role("button", name="Book these 2 pours").click()
    expect(page.get_by_role("status")).to_contain_text("2 pours are booked.")
    assert Pour.objects.count() == before + 2


def test_a_line_that_cannot_be_read_is_named_and_the_file_need_not_be_chosen_again(browser_page):
    page = browser_page("office", width=320)
    page.goto("/pours/import/")
    wrong = b"job,date,start,mix,depth\nNowhere barn,2026-10-01,7:00,M,5 in"
    page.get_by_label("The file").set_input_files(
        {"name": "fall.csv", "mimeType": "text/csv", "buffer": wrong}
    )
    page.get_by_role("button", name="Show what it says").click()
    expect(page.get_by_role("alert")).to_contain_text("Line 2, job: There is no job called Nowhere barn")
    page.get_by_role("button", name="Show what it says").click()
    expect(page.get_by_role("alert")).to_contain_text("Line 2, job")
    assert not overflow(page)

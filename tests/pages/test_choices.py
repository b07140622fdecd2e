from scheduling.models import Plan, Pour
from scheduling.pages.choices import choice_table
from scheduling.pages.wording import Words
from tests.pages.reading import html_of, text_of

YD3 = 0.764554857984  # m3, NIST SP 811


def choice(method, people, **said):
    rate = {"rate_m3_h": 20 * YD3, "hours": 1.5, "trucks": 3, "within_reach": True}
    return {"method": method, "people": people, **rate, **said}


def told(choices):
    pour = Pour(method="line_pump", people=5)
    return choice_table({"choices": choices}, pour, Words.of(None))


def test_methods_stand_below_and_people_beside_each_other():
    table = told([choice("chute", 4), choice("line_pump", 5, trucks=1), choice("line_pump", 4)])
    assert table.people == (4, 5)
    assert [row.method for row in table.rows] == ["chute", "line pump"]
    four, five = table.rows[1].cells
    assert (four.rate, four.lasts, four.trucks) == ("20 yd³/h", "1 h 30 min", "3 trucks")
    assert five.trucks == "1 truck"
    assert table.rows[0].cells[1].rate == ""


def test_the_booked_way_is_marked_and_only_that():
    table = told([choice("chute", 5), choice("line_pump", 4), choice("line_pump", 5)])
    marked = [(row.method, n) for row in table.rows for n, cell in enumerate(row.cells) if cell.is_booked]
    assert marked == [("line pump", 1)]


def test_a_method_that_does_not_reach_says_so(page, pour):
    choices = [choice("chute", 5, within_reach=False), choice("boom_pump", 5)]
    Plan.objects.update(result={**pour.plan.result, "choices": choices})
    text = text_of(page.get(f"/pours/{pour.pk}/"))
    card = text[text.index("Other ways to place it") :]
    assert "Chute does not reach" in card
    assert card.count("does not reach") == 1
    assert "Boom pump 1 h 30 min 20 yd³/h 3 trucks" in card


def test_without_choices_there_is_no_table(page, pour):
    assert told([]) is None
    assert choice_table({}, Pour(), Words.of(None)) is None
    Plan.objects.update(result={**pour.plan.result, "choices": None})
    assert 'id="choices"' not in html_of(page.get(f"/pours/{pour.pk}/"))

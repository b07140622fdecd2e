"""How fast a crew places, as people see it."""

import pytest
import time_machine

from scheduling.models import RateReset
from scheduling.roles import Role
from tests import factories
from tests.pages.conftest import THURSDAY, signed_in
from tests.pages.reading import html_of, text_of
from tests.services.test_rates import placed

pytestmark = [pytest.mark.django_db]


@pytest.fixture
def placed_pour(book):
    """One that rakers set the pace of."""
    made = book(sections=[{"length_m": 16.0, "width_m": 12.0, "depth_m": 0.125}])
    placed(made, factor=1.4)
    return made


@pytest.fixture(autouse=True)
def _two_days_later(_thursday_morning, placed_pour):
    with time_machine.travel(THURSDAY + factories.timedelta(days=2), tick=False):
        yield


def rates(crew, rest=""):
    return f"/crews/{crew.pk}/rates/{rest}"


def test_the_page_says_the_rate_its_range_and_which_pour_says_so(page, crew, placed_pour):
    text = text_of(page.get(rates(crew)))
    assert "Down the chute" in text
    assert "18 % faster" in text
    assert "eight of ten pours lie between" in text
    assert "Learned from 1 pour." in text
    assert placed_pour.job.name in text


def test_a_crew_that_noted_nothing_is_told_how_to_begin(page):
    text = text_of(page.get(rates(factories.crew(name="Elm"))))
    assert "Nothing learned yet" in text
    assert "Note on a pour's day when a truck starts to discharge" in text


def test_forgetting_is_kept_with_who_and_when(page, crew, office):
    assert "Forget and learn anew" in html_of(page.get(rates(crew)))
    page.post(rates(crew, "reset/"), {"method": "chute"})
    assert RateReset.objects.get().by == office
    text = text_of(page.get(rates(crew)))
    assert "No pour counts yet" in text
    assert "Begun anew Saturday, September 5, by Maren Tollgard" in text


def test_a_lead_sees_their_own_crew_and_forgets_nothing(crew):
    lead = signed_in(crew.lead)
    assert "Forget and learn anew" not in html_of(lead.get(rates(crew)))
    assert lead.post(rates(crew, "reset/"), {"method": "chute"}).status_code == 403
    assert signed_in(factories.user(Role.CREW_LEAD)).get(rates(crew)).status_code == 404


def test_the_pour_and_the_list_of_crews_lead_there(page, crew, placed_pour):
    link = f'href="{rates(crew)}"'
    assert link in html_of(page.get(f"/pours/{placed_pour.pk}/"))
    office = signed_in(factories.user(Role.OFFICE, is_staff=True, is_superuser=True))
    assert link in html_of(office.get("/admin/scheduling/crew/"))


def test_the_office_is_asked_about_a_factor_that_becomes_many_times_what_it_was(crew):
    office = signed_in(factories.user(Role.OFFICE, is_staff=True, is_superuser=True))
    page = office.get(f"/admin/scheduling/crew/{crew.pk}/change/")
    form = page.context["adminform"].form
    said = {
        **{name: form.initial.get(name) or "" for name in form.fields},
        **{f"{one.formset.prefix}-{key}": 0 for one in page.context["inline_admin_formsets"]
           for key in ("TOTAL_FORMS", "INITIAL_FORMS")},
        "rate_factor": 4.5,
    }  # fmt: skip
    said.pop("confirm_rate")
    answer = office.post(page.request["PATH_INFO"], said)
    assert "This would be 4.5 times what it was" in html_of(answer)
    assert office.post(page.request["PATH_INFO"], {**said, "confirm_rate": "on"}).status_code == 302
    crew.refresh_from_db()
    assert crew.rate_factor == 4.5

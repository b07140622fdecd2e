"""People at the door, and a week they may look at; the clock stands on a Thursday morning."""

from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
import time_machine
from django.test import Client

from scheduling.models import Crew, Mix, Pour, User
from scheduling.roles import Role
from scheduling.services import booking
from tests import factories

FT, IN = 0.3048, 0.0254
# The walk: 52' by 38', 5 in thick, base and top falling 2 in together.
WALK = {
    "length_m": 52 * FT,
    "width_m": 38 * FT,
    "depth_m": 5 * IN,
    "depth_kind": "falling_base",
    "fall_m": 2 * IN,
}
# The next Thursday, seven in the morning in Kansas City.
THURSDAY = datetime(2026, 9, 3, 12, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _thursday_morning() -> Iterator[None]:
    with time_machine.travel(factories.NOW, tick=False):
        yield


def signed_in(user: User) -> Client:
    client = Client()
    client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
    return client


@pytest.fixture
def office(db: None) -> User:
    factories.company()
    return factories.user(Role.OFFICE, is_staff=True, first_name="Maren", last_name="Tollgard")


@pytest.fixture
def page(office: User) -> Client:
    """The office's browser."""
    return signed_in(office)


@pytest.fixture
def crew(office: User) -> Crew:
    return factories.crew(people=5, name="Ash")


@pytest.fixture
def mix(office: User) -> Mix:
    plant = factories.plant(name="Quarry Road plant")
    return factories.mix(plant=plant, code="4000-75-WR", admixtures=["water_reducer"])


Book = Callable[..., Pour]


@pytest.fixture
def book(office: User, crew: Crew, mix: Mix) -> Book:
    """Books the walk, or what is said instead, with a forecast where there is none yet."""

    def _book(**said: Any) -> Pour:
        job = said.pop("job", None) or factories.job()
        if not job.site.forecasts.exists():
            factories.forecast(job.site, factories.mild_hours(factories.NOW, hours=24 * 14))
        fields = {"crew": crew, "mix": mix, "starts_at": THURSDAY, "people": 5, **said}
        return booking.book_pour(
            job=job,
            sections=fields.pop("sections", [WALK]),
            by=office,
            now=factories.NOW,
            plant=fields["mix"].plant,
            accept_clashes=True,
            **fields,
        )

    return _book


@pytest.fixture
def pour(book: Book) -> Pour:
    return book()


@pytest.fixture
def clashing(book: Book, pour: Pour) -> Pour:
    """A second pour for the same crew, two hours after the first."""
    return book(starts_at=THURSDAY + timedelta(hours=2))


def form_of(pour: Pour, **said: Any) -> dict[str, Any]:
    """What a small form on the pour's page sends, with the version its reader saw."""
    return {"version": pour.version, **said}

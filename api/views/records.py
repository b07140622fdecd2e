"""What the company keeps about itself and its customers."""

from typing import Any
from zoneinfo import ZoneInfo

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import mixins
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from api.filters import CrewMemberFilter, JobFilter, MixFilter
from api.serializers.base import Closed
from api.serializers.drafts import LanguageChoice
from api.serializers.forecasts import ForecastAnswer, ForecastImport, SiteWeatherAnswer
from api.serializers.oncall import Agreement, TextsRecord
from api.serializers.plants import MixRecord, PlantRecord
from api.serializers.rates import CrewRateRow, RateReset
from api.serializers.records import (
    AbsenceRecord,
    CrewRecord,
    EquipmentRecord,
    JobRecord,
    PersonRecord,
    RoadSeasonRecord,
    SiteHoursRecord,
    SiteRecord,
    UserRecord,
)
from api.views.base import Door, Records
from scheduling.models import (
    Absence,
    ConsentWay,
    Crew,
    EquipmentUnit,
    Job,
    Mix,
    Plant,
    RoadSeason,
    Site,
    SiteHours,
    User,
    Worker,
)
from scheduling.queries.forecasts import site_weather
from scheduling.queries.rates import crew_rates
from scheduling.roles import Right
from scheduling.services import consent, people, rates
from scheduling.services.forecasts import import_forecast
from scheduling.services.forecastwatch import ask_now


class SiteDoor(Records):
    """Places where slabs are poured."""

    queryset = Site.objects.order_by("name", "id")
    serializer_class = SiteRecord
    read_right = Right.SEE_ALL_POURS
    write_right = Right.BOOK

    @extend_schema(operation_id="sites_forecasts_list", responses=ForecastAnswer(many=True))
    @action(detail=True, url_path="forecasts", write_right=Right.IMPORT_WEATHER, filterset_class=None)
    def forecasts(self, request: Request, pk: int) -> Response:
        """The forecasts kept for the site, newest first."""
        rows = self.get_object().forecasts.select_related("site").order_by("-fetched_at", "-id")
        return self.paged(rows.defer("hours"), ForecastAnswer)

    @extend_schema(
        operation_id="sites_forecasts_import", request=ForecastImport, responses={201: ForecastAnswer}
    )
    @forecasts.mapping.post
    def import_weather(self, request: Request, pk: int) -> Response:
        """Take in a weather document, and plan afresh the coming pours whose start it covers."""
        site, given = self.get_object(), self.checked(ForecastImport)
        kept = import_forecast(site=site, by=self.person, now=timezone.now(), **given)
        answer = ForecastAnswer(kept, context=self.get_serializer_context())
        return Response(answer.data, status=201)

    @extend_schema(operation_id="sites_weather_retrieve", responses=SiteWeatherAnswer)
    @action(detail=True, url_path="weather", write_right=Right.IMPORT_WEATHER, filterset_class=None)
    def weather(self, request: Request, pk: int) -> Response:
        """How old the newest forecast of the site is, and whether newer ones come."""
        return self._weather(self.get_object(), status=200)

    @extend_schema(operation_id="sites_weather_fetch", request=None, responses={202: SiteWeatherAnswer})
    @weather.mapping.post
    def fetch_weather(self, request: Request, pk: int) -> Response:
        """Have the forecast of the site fetched as soon as a worker can; the answer does not wait for it."""
        site = self.get_object()
        ask_now(site=site, by=self.person, now=timezone.now())
        return self._weather(site, status=202)

    def _weather(self, site: Site, status: int) -> Response:
        context = {**self.get_serializer_context(), "zone": ZoneInfo(site.time_zone)}
        answer = SiteWeatherAnswer(site_weather(site, timezone.now()), context=context)
        return Response(answer.data, status=status)


class SiteHoursDoor(Records):
    """When work, or loud work, is allowed at a site: by weekday, date and sunrise."""

    queryset = SiteHours.objects.select_related("site").order_by("site", "kind", "id")
    serializer_class = SiteHoursRecord
    read_right = Right.SEE_ALL_POURS
    write_right = Right.BOOK


class AbsenceDoor(Records):
    """When people, crews and machines are away."""

    queryset = Absence.objects.select_related("worker", "crew", "unit").order_by("starts_at", "id")
    serializer_class = AbsenceRecord
    read_right = Right.SEE_ALL_POURS
    write_right = Right.ASSIGN


class RoadSeasonDoor(Records):
    """Seasons in which a road bears less."""

    queryset = RoadSeason.objects.select_related("site", "plant").order_by("first_on", "id")
    serializer_class = RoadSeasonRecord
    read_right = Right.SEE_ALL_POURS
    write_right = Right.BOOK


class JobDoor(Records):
    """Work for customers."""

    queryset = Job.objects.select_related("site").order_by("name", "id")
    serializer_class = JobRecord
    filterset_class = JobFilter
    read_right = Right.SEE_ALL_POURS
    write_right = Right.BOOK


class CrewDoor(Records):
    """Crews, each with its lead."""

    queryset = Crew.objects.select_related("lead").order_by("name", "id")
    serializer_class = CrewRecord
    read_right = Right.SEE_ALL_POURS
    write_right = Right.KEEP_COMPANY

    @extend_schema(operation_id="crews_rates", responses=CrewRateRow(many=True))
    @action(detail=True, filterset_class=None, pagination_class=None)
    def rates(self, request: Request, pk: int) -> Response:
        """What is learned of how fast the crew places, by each method."""
        return self._rates(self.get_object(), status=200)

    @extend_schema(
        operation_id="crews_rates_reset", request=RateReset, responses={201: CrewRateRow(many=True)}
    )
    @action(
        detail=True,
        methods=["post"],
        url_path="rates/reset",
        write_right=Right.ASSIGN,
        filterset_class=None,
        pagination_class=None,
    )
    def reset_rate(self, request: Request, pk: int) -> Response:
        """Forget what was learned by one method; only pours from now on count."""
        crew, given = self.get_object(), self.checked(RateReset)
        rates.reset(crew=crew, by=self.person, now=timezone.now(), **given)
        return self._rates(crew, status=201)

    def _rates(self, crew: Crew, status: int) -> Response:
        known: Any = crew_rates(crew, timezone.now())
        return Response(
            CrewRateRow(known, many=True, context=self.get_serializer_context()).data, status=status
        )


class PersonDoor(Records):
    """People who work with a crew, whether they sign in or not."""

    queryset = Worker.objects.select_related("crew", "user").order_by("name", "id")
    serializer_class = PersonRecord
    filterset_class = CrewMemberFilter
    read_right = Right.SEE_ALL_POURS
    write_right = Right.KEEP_COMPANY


class EquipmentDoor(Records):
    """Machines, each one a thing that can be in one place at a time."""

    queryset = EquipmentUnit.objects.select_related("crew").order_by("kind", "name", "id")
    serializer_class = EquipmentRecord
    filterset_class = CrewMemberFilter
    read_right = Right.SEE_ALL_POURS
    write_right = Right.KEEP_COMPANY


class PlantDoor(Records):
    """Concrete plants, with the hours they keep and the days they are shut."""

    queryset = Plant.objects.prefetch_related("hours", "closures", "openings", "fees").order_by("name", "id")
    serializer_class = PlantRecord
    read_right = Right.SEE_ALL_POURS
    write_right = Right.KEEP_COMPANY


class MixDoor(Records):
    """Mixes, each sold by one plant."""

    queryset = Mix.objects.select_related("plant").order_by("plant__name", "code", "id")
    serializer_class = MixRecord
    filterset_class = MixFilter
    read_right = Right.SEE_ALL_POURS
    write_right = Right.KEEP_COMPANY


class UserDoor(mixins.ListModelMixin, mixins.RetrieveModelMixin, Door):
    """People who sign in or get texts, to name as leads of crews."""

    queryset = User.objects.order_by("username", "id")
    serializer_class = UserRecord
    read_right = Right.KEEP_COMPANY
    write_right = Right.KEEP_COMPANY

    @extend_schema(operation_id="users_language", request=LanguageChoice, responses=UserRecord)
    @action(detail=True, methods=["post"], url_path="language", url_name="language")
    def language(self, request: Request, pk: int) -> Response:
        """Have their texts written in that language from now on."""
        user = self.get_object()
        people.choose_language(person=user, by=self.person, **self.checked(LanguageChoice))
        return Response(self.get_serializer(user).data)

    @extend_schema(operation_id="users_texts_agreed", request=Agreement, responses=TextsRecord)
    @action(detail=True, methods=["post"], url_path="texts-agreed", url_name="texts-agreed")
    def texts_agreed(self, request: Request, pk: int) -> Response:
        """Write down that they agreed to get texts. A STOP of theirs only they can undo, by texting START."""
        user, given = self.get_object(), self.checked(Agreement)
        way = ConsentWay(given["way"])
        consent.record_agreement(person=user, way=way, by=self.person, now=timezone.now())
        return Response(TextsRecord(user, context=self.get_serializer_context()).data)

    @extend_schema(operation_id="users_texts_stopped", request=Closed, responses=TextsRecord)
    @action(detail=True, methods=["post"], url_path="texts-stopped", url_name="texts-stopped")
    def texts_stopped(self, request: Request, pk: int) -> Response:
        """Write down that they want no more texts."""
        user = self.get_object()
        self.checked(Closed)
        consent.stop_texts(person=user, way=ConsentWay.IN_PERSON, by=self.person, now=timezone.now())
        return Response(TextsRecord(user, context=self.get_serializer_context()).data)

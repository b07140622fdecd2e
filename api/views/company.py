"""The company's settings."""

from django.http import Http404
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from api.schema import IF_MATCH
from api.serializers.company import CompanyRecord
from api.views.base import Door
from api.views.pours import version_asked
from scheduling.models import Company
from scheduling.roles import Right
from scheduling.services.company import change_company


class CompanyDoor(Door):
    """What the company has settled for itself: units, costs, hours, limits."""

    serializer_class = CompanyRecord
    read_right = Right.SEE_ALL_POURS
    write_right = Right.KEEP_COMPANY
    pagination_class = None

    @extend_schema(operation_id="company_retrieve", responses=CompanyRecord)
    def retrieve(self, request: Request) -> Response:
        """The settings as they stand."""
        company = Company.objects.first()
        if company is None:
            raise Http404
        return self._answer(company)

    @extend_schema(
        operation_id="company_change", request=CompanyRecord, responses=CompanyRecord, parameters=[IF_MATCH]
    )
    def partial_update(self, request: Request) -> Response:
        """Change settings; what is not said stays, and so do plans already made."""
        given = self.checked(CompanyRecord)
        version = version_asked(request, given.pop("version", None))
        return self._answer(change_company(version=version, by=self.person, **given))

    def _answer(self, company: Company) -> Response:
        answer = CompanyRecord(company, context=self.get_serializer_context())
        return Response(answer.data, headers={"ETag": f'"{company.version}"'})

"""Where requests under /api/v1/ go."""

from django.urls import include, path
from rest_framework.routers import SimpleRouter

import api.schema  # noqa: F401 (its extensions are found once it is loaded)
from api.views.company import CompanyDoor
from api.views.conflicts import ConflictDoor
from api.views.drafts import DraftDoor, OwnLanguageDoor
from api.views.messages import MessageDoor
from api.views.oncall import OnCallDoor, ReplyDoor
from api.views.orders import OrderDoor
from api.views.pours import PlanDoor, PourDoor
from api.views.previews import PreviewDoor
from api.views.records import (
    AbsenceDoor,
    CrewDoor,
    EquipmentDoor,
    JobDoor,
    MixDoor,
    PersonDoor,
    PlantDoor,
    RoadSeasonDoor,
    SiteDoor,
    SiteHoursDoor,
    UserDoor,
)
from api.views.sheets import PourSheetDoor, SheetImportDoor
from api.views.tokens import OwnTokenDoor, TokenDoor
from api.views.week import WeekProposalDoor

router = SimpleRouter(use_regex_path=False)
router.register("pours", PourDoor, "api-pours")
router.register("plans", PlanDoor, "api-plans")
router.register("pour-previews", PreviewDoor, "api-pour-previews")
router.register("orders", OrderDoor, "api-orders")
router.register("conflicts", ConflictDoor, "api-conflicts")
router.register("week-proposals", WeekProposalDoor, "api-week-proposals")
router.register("messages", MessageDoor, "api-messages")
router.register("morning-drafts", DraftDoor, "api-morning-drafts")
router.register("replies", ReplyDoor, "api-replies")
router.register("on-call", OnCallDoor, "api-on-call")
router.register("sites", SiteDoor, "api-sites")
router.register("site-hours", SiteHoursDoor, "api-site-hours")
router.register("absences", AbsenceDoor, "api-absences")
router.register("road-seasons", RoadSeasonDoor, "api-road-seasons")
router.register("jobs", JobDoor, "api-jobs")
router.register("crews", CrewDoor, "api-crews")
router.register("people", PersonDoor, "api-people")
router.register("equipment", EquipmentDoor, "api-equipment")
router.register("plants", PlantDoor, "api-plants")
router.register("mixes", MixDoor, "api-mixes")
router.register("users", UserDoor, "api-users")
router.register("tokens", TokenDoor, "api-tokens")

urlpatterns = [
    path(
        "company/",
        CompanyDoor.as_view({"get": "retrieve", "patch": "partial_update"}),
        name="api-company",
    ),
    path(
        "own-language/",
        OwnLanguageDoor.as_view({"get": "retrieve", "put": "update"}),
        name="api-own-language",
    ),
    path("pour-sheet/", PourSheetDoor.as_view({"get": "retrieve"}), name="api-pour-sheet"),
    path(
        "pour-sheet/preview/",
        SheetImportDoor.as_view({"post": "preview"}),
        name="api-pour-sheet-preview",
    ),
    path(
        "pour-sheet/import/",
        SheetImportDoor.as_view({"post": "create"}),
        name="api-pour-sheet-import",
    ),
    path("tokens/current/", OwnTokenDoor.as_view({"delete": "destroy"}), name="api-token-current"),
    path("", include(router.urls)),
]

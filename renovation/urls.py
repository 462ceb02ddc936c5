"""Addresses: the API under /api/v1/, its description, and the pages."""

from __future__ import annotations

from django.urls import URLPattern, URLResolver, include, path
from drf_spectacular.views import SpectacularAPIView, SpectacularSwaggerSplitView
from rest_framework.routers import SimpleRouter

from apps.checks import api as checks_api
from apps.floors import api as floors_api
from apps.inspections import api as inspections_api
from apps.moving import api as moving_api
from apps.planning import api as planning_api
from apps.property import api as property_api
from apps.repairs import api as repairs_api
from apps.timber import api as timber_api
from apps.trades import api as trades_api
from apps.work import api as work_api
from renovation.token_api import TokenViewSet

router = SimpleRouter()
for prefix, viewset in (
    ("tokens", TokenViewSet),
    ("members", property_api.MemberViewSet),
    ("storeys", property_api.StoreyViewSet),
    ("rooms", property_api.RoomViewSet),
    ("doorways", property_api.DoorwayViewSet),
    ("household-routes", property_api.HouseholdRouteViewSet),
    *floors_api.ROUTES,
    *work_api.ROUTES,
    *inspections_api.ROUTES,
    *trades_api.ROUTES,
    *timber_api.ROUTES,
    *repairs_api.ROUTES,
    *checks_api.ROUTES,
    *planning_api.ROUTES,
    *moving_api.ROUTES,
):
    router.register(prefix, viewset, basename=prefix)

urlpatterns: list[URLPattern | URLResolver] = [
    path("api/v1/", include(router.urls)),
    path("api/schema/", SpectacularAPIView.as_view(), name="schema"),
    path("api/docs/", SpectacularSwaggerSplitView.as_view(url_name="schema"), name="docs"),
    path("", include("apps.pages.urls")),
]
handler400 = "renovation.problems.bad_request"
handler404 = "apps.pages.views.not_found"
handler500 = "renovation.problems.server_error"

"""Addresses of this app, in full (config includes them without a prefix)."""

from django.urls import URLPattern, URLResolver, path
from rest_framework.routers import SimpleRouter

from tubertrack.apps.records import api

router = SimpleRouter()
router.register("api/varieties", api.VarietyRows, basename="varieties")
router.register("api/places", api.PlaceRows, basename="places")
router.register("api/methods", api.MethodRows, basename="methods")
router.register("api/crates", api.CrateRows, basename="crates")
router.register("api/lots", api.LotRows, basename="lots")
router.register("api/checks", api.CheckRows, basename="checks")
router.register("api/readings", api.ReadingRows, basename="readings")
router.register("api/plantings", api.PlantingRows, basename="plantings")
router.register("api/problems", api.ProblemRows, basename="problems")
router.register("api/records", api.RecordRows, basename="records")

urlpatterns: list[URLPattern | URLResolver] = [
    path("api/undelivered/", api.UndeliveredView.as_view(), name="undelivered"),
    *router.urls,
]

"""The API of the dispensing record, and its description."""

from django.urls import path
from rest_framework.routers import SimpleRouter

from dispensing.api.description import DescriptionView, api_page
from dispensing.api.fittings import FittingViewSet, MeasureView
from dispensing.api.frames import FrameViewSet
from dispensing.api.patients import PatientViewSet
from dispensing.api.prescriptions import PrescriptionViewSet

router = SimpleRouter(use_regex_path=False)
router.register("patients", PatientViewSet, basename="api-patient")
router.register("prescriptions", PrescriptionViewSet, basename="api-prescription")
router.register("frames", FrameViewSet, basename="api-frame")
router.register("fittings", FittingViewSet, basename="api-fitting")

urlpatterns = [
    path("", api_page, name="api-page"),
    path("schema/", DescriptionView.as_view(), name="api-schema"),
    path("measure/", MeasureView.as_view(), name="api-measure"),
    *router.urls,
]

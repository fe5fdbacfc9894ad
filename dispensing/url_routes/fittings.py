"""Fittings of a patient in a frame."""

from django.urls import path

from dispensing.views import fitting_frames, fittings

urlpatterns = [
    path("patients/<uuid:patient_id>/fittings/new/", fitting_frames.fitting_new, name="fitting-new"),
    path("patients/<uuid:patient_id>/fittings/new/<uuid:frame_id>/", fittings.fitting_record, name="fitting-record"),
    path("patients/<uuid:patient_id>/fittings/live/<uuid:frame_id>/", fittings.fitting_live, name="fitting-live"),
    path("fittings/<uuid:fitting_id>/", fittings.fitting_page, name="fitting-page"),
    path("fittings/<uuid:fitting_id>/correct/", fittings.fitting_correct, name="fitting-correct"),
    path("fittings/<uuid:fitting_id>/copy/", fitting_frames.fitting_copy_choose, name="fitting-copy-choose"),
    path("fittings/<uuid:fitting_id>/copy/<uuid:frame_id>/", fittings.fitting_copy, name="fitting-copy"),
]

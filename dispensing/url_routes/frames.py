"""Frames: the stock and patients' own."""

from django.urls import path

from dispensing.views import frames

urlpatterns = [
    path("frames/", frames.frame_list, name="frame-list"),
    path("frames/new/", frames.frame_new, name="frame-new"),
    path("frames/preview/", frames.frame_preview, name="frame-preview"),
    path("frames/<uuid:frame_id>/", frames.frame_page, name="frame-page"),
    path("frames/<uuid:frame_id>/correct/", frames.frame_correct, name="frame-correct"),
    path("patients/<uuid:patient_id>/own-frames/new/", frames.frame_own_new, name="frame-own-new"),
]

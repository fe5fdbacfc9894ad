"""Prescriptions and the scans of their paper."""

from django.urls import path

from dispensing.views import prescription_entry, prescriptions, scans

urlpatterns = [
    path("patients/<uuid:patient_id>/prescriptions/new/", prescription_entry.prescription_new, name="prescription-new"),
    path(
        "patients/<uuid:patient_id>/prescriptions/read/", prescription_entry.prescription_read, name="prescription-read"
    ),
    path(
        "patients/<uuid:patient_id>/prescriptions/live/", prescription_entry.prescription_live, name="prescription-live"
    ),
    path("prescriptions/<uuid:prescription_id>/", prescriptions.prescription_page, name="prescription-page"),
    path(
        "prescriptions/<uuid:prescription_id>/correct/",
        prescription_entry.prescription_correct,
        name="prescription-correct",
    ),
    path("prescriptions/<uuid:prescription_id>/scans/", scans.scan_add, name="scan-add"),
    path("scans/<uuid:scan_id>/", scans.scan_file, name="scan-file"),
    path("scans/<uuid:scan_id>/remove/", scans.scan_remove, name="scan-remove"),
]

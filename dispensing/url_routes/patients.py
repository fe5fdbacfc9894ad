"""Patients: find, register, read, correct. What is searched for travels in the request's body only."""

from django.urls import path

from dispensing.views import patients

urlpatterns = [
    path("patients/", patients.patient_list, name="patient-list"),
    path("patients/find/", patients.patient_find, name="patient-find"),
    path("patients/new/", patients.patient_register, name="patient-register"),
    path("patients/<uuid:patient_id>/", patients.patient_page, name="patient-page"),
    path("patients/<uuid:patient_id>/correct/", patients.patient_correct, name="patient-correct"),
]

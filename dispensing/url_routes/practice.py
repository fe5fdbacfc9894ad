"""What managers see: the practice's settings, staff and their tokens, the audit trail."""

from django.urls import path

from dispensing.views import audit, practice, staff

urlpatterns = [
    path("practice/", practice.practice_settings, name="practice-settings"),
    path("staff/", staff.staff_list, name="staff-list"),
    path("staff/new/", staff.staff_new, name="staff-new"),
    path("staff/of/<str:username>/", staff.staff_page, name="staff-page"),
    path("staff/of/<str:username>/password/", staff.staff_password_reset, name="staff-password-reset"),
    path("staff/of/<str:username>/tokens/issue/", staff.token_issue, name="token-issue"),
    path("staff/of/<str:username>/tokens/revoke/", staff.token_revoke, name="token-revoke"),
    path("audit/", audit.audit_trail, name="audit-trail"),
    path("audit/find/", audit.audit_find_patient, name="audit-find-patient"),
    path("audit/patients/<uuid:patient_id>/", audit.audit_of_patient, name="audit-of-patient"),
]

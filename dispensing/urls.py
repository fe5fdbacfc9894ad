"""Every address of the dispensing record, its pages by noun and its API, and the root that adds those of orders.

Names are ``noun-verb``. Public ids are UUIDs; nothing about a patient appears in an address; search terms are sent in
the request's body.
"""

from django.urls import include, path
from rest_framework.routers import SimpleRouter

from dispensing.api.description import DescriptionView, api_page
from dispensing.api.fittings import FittingViewSet, MeasureView
from dispensing.api.frames import FrameViewSet
from dispensing.api.papers import PaperViewSet
from dispensing.api.patients import PatientViewSet
from dispensing.api.prescriptions import PrescriptionViewSet
from dispensing.api.worn_pairs import WornPairViewSet
from dispensing.views import (
    account,
    audit,
    ending,
    fitting_frames,
    fittings,
    frames,
    home,
    lists_out,
    own_account,
    papers,
    patients,
    photo_fittings,
    photo_marking,
    photos,
    practice,
    prescription_entry,
    prescriptions,
    scans,
    second_factor,
    second_step,
    staff,
    waiting,
    watching,
    worn_pairs,
)

account_pages = [
    path("", home.home, name="home"),
    path("sign-in/", account.sign_in, name="sign-in"),
    path("sign-in/second-step/", second_step.second_step, name="sign-in-second"),
    path("sign-in/passkey/", second_step.second_step_passkey, name="sign-in-passkey"),
    path("sign-in/passkey/answer/", second_step.second_step_passkey_answer, name="sign-in-passkey-answer"),
    path("sign-out/", account.sign_out, name="sign-out"),
    path("password/", account.password_change, name="password-change"),
    path("account/", own_account.account_page, name="account-page"),
    path("account/tokens/new/", own_account.account_token_new, name="account-token-new"),
    path("account/tokens/end/", own_account.account_token_end, name="account-token-end"),
    path("account/sessions/end/", own_account.account_session_end, name="account-session-end"),
    path("account/second-factor/", second_factor.second_factor, name="second-factor"),
    path("account/second-factor/app/", second_factor.second_factor_app, name="second-factor-app"),
    path("account/second-factor/passkey/", second_factor.passkey_begin, name="passkey-begin"),
    path("account/second-factor/passkey/add/", second_factor.passkey_add, name="passkey-add"),
    path("account/second-factor/codes/", second_factor.recovery_codes, name="recovery-codes"),
    path("account/second-factor/remove/", second_factor.factor_remove, name="second-factor-remove"),
    path("still-signed-in/", own_account.still_signed_in, name="still-signed-in"),
    path("signed-in-again/", own_account.signed_in_again, name="signed-in-again"),
]

patient_pages = [
    path("patients/", patients.patient_list, name="patient-list"),
    path("patients/patients.csv", lists_out.patients_csv, name="patients-csv"),
    path("frames/frames.csv", lists_out.frames_csv, name="frames-csv"),
    path("staff/staff.csv", lists_out.staff_csv, name="staff-csv"),
    path("audit/audit.csv", lists_out.audit_csv, name="audit-csv"),
    path("audit/patients/<uuid:patient_id>/audit.csv", lists_out.audit_of_patient_csv, name="audit-of-patient-csv"),
    path("patients/find/", patients.patient_find, name="patient-find"),
    path("patients/new/", patients.patient_register, name="patient-register"),
    path("patients/<uuid:patient_id>/", patients.patient_page, name="patient-page"),
    path("patients/<uuid:patient_id>/correct/", patients.patient_correct, name="patient-correct"),
    path("waiting/", waiting.waiting_list, name="waiting-list"),
    path("patients/<uuid:patient_id>/waiting/", waiting.waiting_mark, name="waiting-mark"),
    path("waiting/<uuid:waiting_id>/take/", waiting.waiting_take, name="waiting-take"),
    path("waiting/<uuid:waiting_id>/end/", waiting.waiting_end, name="waiting-end"),
]

prescription_pages = [
    path("patients/<uuid:patient_id>/prescriptions/new/", prescription_entry.prescription_new, name="prescription-new"),
    path(
        "patients/<uuid:patient_id>/prescriptions/read/", prescription_entry.prescription_read, name="prescription-read"
    ),
    path(
        "patients/<uuid:patient_id>/prescriptions/live/", prescription_entry.prescription_live, name="prescription-live"
    ),
    path("prescriptions/ending/", ending.prescriptions_ending, name="prescriptions-ending"),
    path("prescriptions/<uuid:prescription_id>/", prescriptions.prescription_page, name="prescription-page"),
    path(
        "prescriptions/<uuid:prescription_id>/correct/",
        prescription_entry.prescription_correct,
        name="prescription-correct",
    ),
    path("prescriptions/<uuid:prescription_id>/scans/", scans.scan_add, name="scan-add"),
    path("patients/<uuid:patient_id>/papers/", papers.paper_add, name="paper-add"),
    path("papers/<uuid:paper_id>/", papers.paper_state, name="paper-state"),
    path("papers/<uuid:paper_id>/snippets/<str:name>/", papers.paper_snippet, name="paper-snippet"),
    path("papers/<uuid:paper_id>/file/", papers.paper_file, name="paper-file"),
    path("papers/<uuid:paper_id>/discard/", papers.paper_discard, name="paper-discard"),
    path("papers/<uuid:paper_id>/settle/", papers.paper_settle, name="paper-settle"),
    path("scans/<uuid:scan_id>/", scans.scan_file, name="scan-file"),
    path("scans/<uuid:scan_id>/remove/", scans.scan_remove, name="scan-remove"),
]

worn_pair_pages = [
    path("patients/<uuid:patient_id>/worn-pairs/new/", worn_pairs.worn_pair_new, name="worn-pair-new"),
    path("worn-pairs/<uuid:pair_id>/correct/", worn_pairs.worn_pair_correct, name="worn-pair-correct"),
]

frame_pages = [
    path("frames/", frames.frame_list, name="frame-list"),
    path("frames/new/", frames.frame_new, name="frame-new"),
    path("frames/preview/", frames.frame_preview, name="frame-preview"),
    path("frames/<uuid:frame_id>/", frames.frame_page, name="frame-page"),
    path("frames/<uuid:frame_id>/correct/", frames.frame_correct, name="frame-correct"),
    path("patients/<uuid:patient_id>/own-frames/new/", frames.frame_own_new, name="frame-own-new"),
]

fitting_pages = [
    path("patients/<uuid:patient_id>/fittings/new/", fitting_frames.fitting_new, name="fitting-new"),
    path("patients/<uuid:patient_id>/fittings/new/<uuid:frame_id>/", fittings.fitting_record, name="fitting-record"),
    path("patients/<uuid:patient_id>/fittings/live/<uuid:frame_id>/", fittings.fitting_live, name="fitting-live"),
    path("fittings/<uuid:fitting_id>/", fittings.fitting_page, name="fitting-page"),
    path("fittings/<uuid:fitting_id>/correct/", fittings.fitting_correct, name="fitting-correct"),
    path("fittings/<uuid:fitting_id>/copy/", fitting_frames.fitting_copy_choose, name="fitting-copy-choose"),
    path("fittings/<uuid:fitting_id>/copy/<uuid:frame_id>/", fittings.fitting_copy, name="fitting-copy"),
]

photo_fitting_pages = [
    path(
        "patients/<uuid:patient_id>/photo-fittings/new/<uuid:frame_id>/",
        photo_fittings.photo_fitting_new,
        name="photo-fitting-new",
    ),
    path("photo-fittings/<uuid:measuring_id>/", photo_fittings.photo_fitting_page, name="photo-fitting-page"),
    path("photo-fittings/<uuid:measuring_id>/use/", photo_fittings.photo_fitting_use, name="photo-fitting-use"),
    path(
        "photo-fittings/<uuid:measuring_id>/discard/",
        photo_fittings.photo_fitting_discard,
        name="photo-fitting-discard",
    ),
    path("photo-fittings/<uuid:measuring_id>/photos/", photos.photo_add, name="photo-add"),
    path("photos/<uuid:photo_id>/", photos.photo_file, name="photo-file"),
    path("photos/<uuid:photo_id>/small/", photos.photo_thumbnail, name="photo-thumbnail"),
    path("photos/<uuid:photo_id>/delete-picture/", photos.photo_picture_delete, name="photo-picture-delete"),
    path("photos/<uuid:photo_id>/remove/", photos.photo_remove, name="photo-remove"),
    path("photos/<uuid:photo_id>/mark/", photo_marking.photo_mark, name="photo-mark"),
    path("photos/<uuid:photo_id>/live/", photo_marking.photo_live, name="photo-live"),
    path("photos/<uuid:photo_id>/marks/", photo_marking.photo_marks, name="photo-marks"),
    path("photos/<uuid:photo_id>/proposals/", photo_marking.photo_proposals, name="photo-proposals"),
]

practice_pages = [
    path("practice/", practice.practice_settings, name="practice-settings"),
    path("staff/", staff.staff_list, name="staff-list"),
    path("staff/new/", staff.staff_new, name="staff-new"),
    path("staff/of/<str:username>/", staff.staff_page, name="staff-page"),
    path("staff/of/<str:username>/password/", staff.staff_password_reset, name="staff-password-reset"),
    path("staff/of/<str:username>/second-factor/", staff.staff_second_factor_off, name="staff-second-factor-off"),
    path("staff/of/<str:username>/tokens/revoke/", staff.token_revoke, name="token-revoke"),
    path("audit/", audit.audit_trail, name="audit-trail"),
    path("audit/find/", audit.audit_find_patient, name="audit-find-patient"),
    path("audit/patients/<uuid:patient_id>/", audit.audit_of_patient, name="audit-of-patient"),
]

watching_addresses = [
    path("health/", watching.health, name="health"),
    path("ready/", watching.ready, name="ready"),
    path("metrics/", watching.metrics, name="metrics"),
]

router = SimpleRouter(use_regex_path=False)
router.register("patients", PatientViewSet, basename="api-patient")
router.register("prescriptions", PrescriptionViewSet, basename="api-prescription")
router.register("papers", PaperViewSet, basename="api-paper")
router.register("worn-pairs", WornPairViewSet, basename="api-worn-pair")
router.register("frames", FrameViewSet, basename="api-frame")
router.register("fittings", FittingViewSet, basename="api-fitting")

api_calls = [
    path("", api_page, name="api-page"),
    path("schema/", DescriptionView.as_view(), name="api-schema"),
    path("measure/", MeasureView.as_view(), name="api-measure"),
    *router.urls,
]

urlpatterns = [
    *account_pages,
    *patient_pages,
    *prescription_pages,
    *worn_pair_pages,
    *frame_pages,
    *fitting_pages,
    *photo_fitting_pages,
    *practice_pages,
    *watching_addresses,
    path("", include("orders.urls")),
    path("api/", include(api_calls)),
]

handler404 = "dispensing.views.errors.not_found"
handler500 = "dispensing.views.errors.broken"

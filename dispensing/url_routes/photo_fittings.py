"""Fittings from photos: measurings, their photos, and the marking. Results for whoever may see the patient."""

from django.urls import path

from dispensing.views import photo_fittings, photo_marking, photos

urlpatterns = [
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
    path("photos/<uuid:photo_id>/pupils/", photo_marking.photo_pupils, name="photo-pupils"),
]

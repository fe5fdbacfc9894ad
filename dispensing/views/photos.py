"""Photos to measure from: adding one, serving it to those who measure, deleting it."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import FileResponse, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST, require_safe

from dispensing.access import requires
from dispensing.fitting.photos import PhotoRefused
from dispensing.forms.photo_fittings import PhotoForm
from dispensing.models import FittingPhoto, PhotoMeasuring
from dispensing.models.photos import PhotoView
from dispensing.queries.photo_fittings import photos_with_measuring
from dispensing.request_size import takes_files
from dispensing.roles import Ability
from dispensing.services.fittings import FittingRefused
from dispensing.services.photo_fittings import add_photo, delete_picture, remove_photo
from dispensing.views.files import private_file
from dispensing.views.requests import StaffRequest

EDIT = (Ability.FITTING_EDIT, Ability.PATIENT_VIEW)


@requires(*EDIT)
@require_POST
@takes_files
def photo_add(request: StaffRequest, measuring_id: UUID) -> HttpResponse:
    """Adds one photo or several and goes straight on to marking the first of them."""
    measuring = get_object_or_404(PhotoMeasuring.objects.select_related("patient"), public_id=measuring_id)
    form = PhotoForm(request.POST, request.FILES)
    if not form.is_valid():
        for faults in form.errors.values():
            messages.error(request, " ".join(str(fault) for fault in faults))
        return redirect("photo-fitting-page", measuring_id)
    first = not measuring.photos.filter(view=PhotoView.FRONT).exists()
    added, several = [], len(form.cleaned_data["photo"]) > 1
    for number, shot in enumerate(form.shots(first=first), start=1):
        try:
            added.append(add_photo(actor=request.user, measuring=measuring, **shot))
        except (PhotoRefused, FittingRefused) as refusal:
            messages.error(request, f"Photo {number}: {refusal}" if several else str(refusal))
    if len(added) < len(form.cleaned_data["photo"]):
        return redirect("photo-fitting-page", measuring_id)
    return redirect("photo-mark", added[0].public_id)


@requires(*EDIT)
@require_safe
def photo_file(request: StaffRequest, photo_id: UUID) -> FileResponse:
    photo = get_object_or_404(FittingPhoto, public_id=photo_id)
    return private_file(photo.file, f"photo-{photo.public_id}.jpg")


@requires(*EDIT)
@require_safe
def photo_thumbnail(request: StaffRequest, photo_id: UUID) -> FileResponse:
    photo = get_object_or_404(FittingPhoto, public_id=photo_id)
    return private_file(photo.thumbnail, f"photo-{photo.public_id}-small.jpg")


@requires(*EDIT)
@require_POST
def photo_picture_delete(request: StaffRequest, photo_id: UUID) -> HttpResponse:
    photo = _photo(photo_id)
    delete_picture(actor=request.user, photo=photo)
    messages.success(request, "The picture is deleted. Its marks, and the figures from them, are kept.")
    return redirect("photo-fitting-page", photo.measuring.public_id)


@requires(*EDIT)
@require_POST
def photo_remove(request: StaffRequest, photo_id: UUID) -> HttpResponse:
    photo = _photo(photo_id)
    try:
        remove_photo(actor=request.user, photo=photo)
    except FittingRefused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, "The photo and its marks are deleted.")
    return redirect("photo-fitting-page", photo.measuring.public_id)


def _photo(photo_id: UUID) -> FittingPhoto:
    return get_object_or_404(photos_with_measuring(), public_id=photo_id)

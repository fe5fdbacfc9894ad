"""Pages of frames: the stock, a single frame, adding and correcting, and the drawing that follows the typing."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.http import urlencode
from django.views.decorators.http import require_POST, require_safe

from dispensing.access import requires
from dispensing.forms.frames import FrameForm, FrameSearchForm
from dispensing.models import Frame, Patient, Practice
from dispensing.presentation.frames import picture_of, picture_of_typed
from dispensing.queries.frames import FrameSearch, stock_page
from dispensing.request_size import takes_files
from dispensing.roles import Ability
from dispensing.services.frames import add_frame, change_frame
from dispensing.services.meanwhile import ChangedMeanwhile
from dispensing.views.meanwhile import NO_VERSION, opened_on, told_by_others
from dispensing.views.requests import StaffRequest


@requires(Ability.FRAME_VIEW)
@require_safe
def frame_list(request: StaffRequest) -> HttpResponse:
    """The stock; for htmx, its rows only. A frame search says nothing about a patient, so it may be in the address."""
    form = FrameSearchForm(request.GET)
    search = FrameSearch(**form.cleaned_data) if form.is_valid() else FrameSearch()
    kept = {name: value for name, value in form.cleaned_data.items() if value and name in ("text", "mount")}
    context = {
        "form": form,
        "page": stock_page(search, after=request.GET.get("after", "")),
        "kept": kept | ({"withdrawn": "on"} if search.withdrawn else {}),
        "query": urlencode(kept | ({"withdrawn": "on"} if search.withdrawn else {})),
        "searched": bool(kept),
    }
    template = "frames/_rows.html" if request.htmx else "frames/list.html"
    return render(request, template, context)


@requires(Ability.FRAME_VIEW)
@require_safe
def frame_page(request: StaffRequest, frame_id: UUID) -> HttpResponse:
    frame = get_object_or_404(Frame.objects.select_related("owner"), public_id=frame_id)
    return render(
        request, "frames/page.html", {"frame": frame, "picture": picture_of(frame, Practice.current(), scale=1.4)}
    )


@requires(Ability.FRAME_EDIT)
@takes_files
def frame_new(request: StaffRequest) -> HttpResponse:
    return _edit(request, FrameForm(request.POST or None, request.FILES or None))


@requires(Ability.FRAME_EDIT, Ability.PATIENT_VIEW)
@takes_files
def frame_own_new(request: StaffRequest, patient_id: UUID) -> HttpResponse:
    owner = get_object_or_404(Patient, public_id=patient_id)
    return _edit(request, FrameForm(request.POST or None, request.FILES or None, own=True), owner=owner)


@requires(Ability.FRAME_EDIT)
@takes_files
def frame_correct(request: StaffRequest, frame_id: UUID) -> HttpResponse:
    frame = get_object_or_404(Frame.objects.select_related("owner"), public_id=frame_id)
    own = frame.owner is not None
    form = FrameForm(request.POST or None, request.FILES or None, frame=frame, own=own)
    return _edit(request, form, frame=frame, owner=frame.owner)


def _edit(
    request: StaffRequest, form: FrameForm, *, frame: Frame | None = None, owner: Patient | None = None
) -> HttpResponse:
    version = NO_VERSION if frame is None else opened_on(request, frame)
    if request.method == "POST" and form.is_valid():
        try:
            saved = _save(request, form, frame, owner, version)
        except ChangedMeanwhile as other:
            form.add_error(None, _told_by_others(other, form))
            version = other.version
        else:
            return redirect("frame-page", saved.public_id)
    context = {"form": form, "frame": frame, "owner": owner, "version": version, "picture": picture_of_typed(form)}
    return render(request, "frames/edit.html", context)


def _told_by_others(other: ChangedMeanwhile, form: FrameForm) -> str:
    """Every field that differs, because sizes and shape are judged together; the shape cannot be put into words."""
    differ = {name: pair for name, pair in other.fields.items() if name in form.frame_fields}
    return told_by_others(other, "this frame", differ, otherwise="Only the shape differs")


def _save(request: StaffRequest, form: FrameForm, frame: Frame | None, owner: Patient | None, version: int) -> Frame:
    if frame is None:
        saved = add_frame(actor=request.user, fields=form.frame_fields, shape=form.shape, owner=owner)
    else:
        saved = change_frame(
            actor=request.user,
            frame=frame,
            fields=form.frame_fields,
            shape=form.shape,
            keep_shape=not {"radii", "trace"} & set(form.changed_data),
            version=version,
        )
    for note in form.shape.notes if form.shape else ():
        messages.warning(request, note)
    messages.success(request, f"{saved} is saved.")
    if frame is not None and frame.boxed_sizes != saved.boxed_sizes and saved.fittings.exists():
        messages.warning(
            request, "Fittings taken in this frame are now marked as measured before the frame was changed."
        )
    return saved


@requires(Ability.FRAME_EDIT)
@require_POST
@takes_files
def frame_preview(request: StaffRequest) -> HttpResponse:
    """The drawing of what is typed so far; also reads a chosen trace file into the radii."""
    form = FrameForm(request.POST, request.FILES, own="condition" in request.POST)
    form.is_valid()
    read = request.FILES.get("trace") is not None and form.shape is not None
    context = {"form": form, "picture": picture_of_typed(form), "read": read}
    return render(request, "frames/_preview.html", context)

"""Forms for measuring from photos: starting, adding a photo, and choosing which figures to use."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterator, Sequence
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from dispensing.forms.fields import offer
from dispensing.forms.figures import SizeField
from dispensing.forms.fittings import NEAR_DISTANCES_MM, USUAL_NEAR_DISTANCE_MM
from dispensing.forms.photo_figures import PhotoFigure
from dispensing.models import Fitting
from dispensing.models.photos import PhotoView
from dispensing.services.photo_fittings import MOST_PHOTOS, too_large

LOOKED_AWAY, HELD_STILL = "away", "still"
STEEPEST_PITCH_DEG = 90.0
PICTURES = "image/jpeg,image/png,image/webp,image/heic,image/heif"


class StartForm(forms.Form):
    near_distance_mm = SizeField(
        words="A near working distance",
        unit="mm",
        possible=NEAR_DISTANCES_MM,
        decimals=0,
        label="Near working distance",
        required=True,
        initial=USUAL_NEAR_DISTANCE_MM,
        help_text="For the near PDs: from the spectacles to what is read.",
    )


class _ManyFiles(forms.FileInput):
    allow_multiple_selected = True

    def value_from_datadict(self, data: Any, files: Any, name: str) -> Any:
        return files.getlist(name)


class PhotosField(forms.FileField):
    """One or several files, each judged as one would be."""

    widget = _ManyFiles

    def clean(self, data: Any, initial: Any = None) -> list[Any]:
        return [super(PhotosField, self).clean(one, initial) for one in data or [None]]


class PitchesField(forms.CharField):
    """How far the camera pointed up at each shot, degrees, with ``-`` where no sensor told."""

    widget = forms.HiddenInput

    def clean(self, value: Any) -> list[float | None]:
        words = (super().clean(value) or "").split()
        try:
            told = [None if word == "-" else float(word) for word in words]
        except ValueError:
            told = [math.nan]
        if not all(one is None or abs(one) <= STEEPEST_PITCH_DEG for one in told):
            raise ValidationError("How the camera was held is not told as an angle. Take the photo again.")
        return told


class PhotoForm(forms.Form):
    view = forms.ChoiceField(
        label="Taken from",
        choices=[(PhotoView.FRONT, "The front"), (PhotoView.SIDE, "The side")],
        initial=PhotoView.FRONT,
        widget=forms.RadioSelect,
    )
    photo = PhotosField(
        label="Photo, or several",
        help_text="As the camera made it, uncropped: JPEG, PNG, WebP or HEIC, up to 40 MB and 60 megapixels each.",
        widget=_ManyFiles(attrs={"accept": PICTURES}),
        error_messages={"required": "Choose a photo first.", "empty": "The file is empty; choose the photo again."},
    )

    between = forms.ChoiceField(
        label="Where there is more than one from the front, the patient",
        choices=[
            (LOOKED_AWAY, "looked away and back before each: every photo is a reading"),
            (HELD_STILL, "held still: all of them are one reading"),
        ],
        required=False,
        widget=forms.RadioSelect,
    )
    # Filled in by the page from the device's own sensor, when its own camera takes the photos.
    pitch_deg = PitchesField(required=False)

    def clean_photo(self) -> Any:
        uploads = self.cleaned_data["photo"]
        if len(uploads) > MOST_PHOTOS:
            raise ValidationError(f"{len(uploads)} photos are chosen; at most {MOST_PHOTOS} can be measured together.")
        for upload in uploads:
            refusal = too_large(upload.size)
            if refusal is not None:
                raise ValidationError(str(refusal))
        return uploads

    def shots(self, *, first: bool) -> Iterator[dict[str, Any]]:
        """For each photo what is told of it. ``first``: whether there is none from the front yet."""
        uploads, away = self.cleaned_data["photo"], self.cleaned_data["between"] == LOOKED_AWAY
        pitches = [*self.cleaned_data["pitch_deg"], *([None] * len(uploads))]
        for number, (upload, pitch) in enumerate(zip(uploads, pitches)):
            yield {
                "view": self.cleaned_data["view"],
                "content": upload.read(),
                "pitch_deg": pitch,
                "renewed": away and not (first and number == 0),
            }


class UseForm(forms.Form):
    """Which photo figures become a fitting or join one. Figures that call for a retake must be chosen deliberately."""

    figures = forms.MultipleChoiceField(
        label="Figures",
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "No figure is ticked. Tick at least one."},
    )
    into = forms.ChoiceField(label="Keep them as")
    pre_adjusted = forms.BooleanField(label="Frame was adjusted on the face before the photos", required=False)
    despite = forms.BooleanField(
        label="I have read what is to be taken again or checked, and am using the figures anyway",
        error_messages={"required": "Something is to be taken again or checked. Do so, or tick that you have read it."},
    )

    def __init__(self, data: Any = None, *, rows: Sequence[PhotoFigure], fittings: Sequence[Fitting], doubtful: bool):
        super().__init__(data)
        self.rows = {row.name: row for row in rows}
        self.fittings = {str(fitting.public_id): fitting for fitting in fittings}
        offer(self, "figures", [(row.name, row.words) for row in rows])
        self.fields["figures"].initial = list(self.rows)
        existing = [
            (key, f"part of the fitting of {fitting.measured_on:%-d %b %Y}") for key, fitting in self.fittings.items()
        ]
        offer(self, "into", [("", "a new fitting"), *existing])
        self.fields["into"].required = False
        if not doubtful:
            del self.fields["despite"]

    @property
    def seen(self) -> str:
        """A short form of the current figures. The page sends it back, so that nobody uses figures unseen."""
        shown = [(row.name, round(row.photo.value, 2), round(row.photo.plus_minus, 2)) for row in self.rows.values()]
        return hashlib.sha256(repr(shown).encode()).hexdigest()[:16]

    def clean(self) -> dict[str, Any]:
        sent = self.data.get("seen")
        if sent and sent != self.seen:
            raise ValidationError(
                "The figures have changed since this page was opened: somebody marked a photo or took one off. "
                "Look at the figures as they are now, then use them."
            )
        return self.cleaned_data

    def chosen(self) -> list[PhotoFigure]:
        return [self.rows[name] for name in self.cleaned_data["figures"]]

    def chosen_fitting(self) -> Fitting | None:
        return self.fittings.get(self.cleaned_data["into"])

    def is_ticked(self, name: str) -> bool:
        return name in (self["figures"].value() or [])

"""Forms for measuring from photos: starting, adding a photo, and choosing which figures to use."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from dispensing.forms.fields import offer
from dispensing.forms.figures import SizeField
from dispensing.forms.fittings import NEAR_DISTANCES_MM, USUAL_NEAR_DISTANCE_MM
from dispensing.forms.photo_figures import PhotoFigure
from dispensing.models import Fitting
from dispensing.models.photos import PhotoView
from dispensing.services.photo_fittings import too_large

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


class PhotoForm(forms.Form):
    view = forms.ChoiceField(
        label="Taken from",
        choices=[(PhotoView.FRONT, "The front"), (PhotoView.SIDE, "The side")],
        initial=PhotoView.FRONT,
        widget=forms.RadioSelect,
    )
    photo = forms.FileField(
        label="Photo",
        help_text="As the camera made it, uncropped: JPEG, PNG, WebP or HEIC, up to 40 MB and 60 megapixels.",
        widget=forms.FileInput(attrs={"accept": PICTURES}),
        error_messages={"required": "Choose a photo first.", "empty": "The file is empty; choose the photo again."},
    )

    # Filled in by the page from the device's own sensor, when its own camera takes the photo.
    pitch_deg = forms.FloatField(required=False, min_value=-90, max_value=90, widget=forms.HiddenInput)

    def clean_photo(self) -> Any:
        upload = self.cleaned_data["photo"]
        refusal = too_large(upload.size)
        if refusal is not None:
            raise ValidationError(str(refusal))
        return upload


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

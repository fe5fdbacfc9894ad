"""The forms for a lab's catalogue: giving the file, and taking it into use once what is unusual is confirmed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile

from orders.catalogues.doubts import Doubt
from orders.services.catalogues import LARGEST_BYTES


class CatalogueForm(forms.Form):
    file = forms.FileField(
        label="Catalogue file",
        help_text="A lens-catalogue/1 file (JSON) from the lab. You look at what differs before it is used.",
        widget=forms.ClearableFileInput(attrs={"accept": "application/json,.json"}),
    )

    def clean_file(self) -> UploadedFile[bytes]:
        """Check the file's size before it is read into memory."""
        file: UploadedFile[bytes] = self.cleaned_data["file"]
        size, most = (file.size or 0) / 1e6, LARGEST_BYTES / 1e6
        if size > most:
            raise forms.ValidationError(f"The file has {size:.0f} MB; {most:.0f} MB are allowed. Is it another file?")
        return file


class UseForm(forms.Form):
    """beside: the catalogue in use that this one was looked at beside; empty if there was none."""

    confirmed = forms.MultipleChoiceField(
        label="Unusual: tick each that you have looked up and that is right",
        widget=forms.CheckboxSelectMultiple,
        required=False,
    )
    beside = forms.UUIDField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, doubts: Sequence[Doubt], **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.doubts = doubts
        self.fields["confirmed"].choices = [(doubt.path, f"{doubt.says} ({doubt.path})") for doubt in doubts]  # type: ignore[attr-defined]  # a field with choices

    def clean_confirmed(self) -> list[str]:
        """One unusual figure left unconfirmed, and the catalogue is not used."""
        ticked: list[str] = self.cleaned_data["confirmed"]
        left = [doubt for doubt in self.doubts if doubt.path not in ticked]
        if left:
            raise forms.ValidationError([f"Not confirmed yet: {doubt.says}" for doubt in left])
        return ticked

"""The form that takes in the practice's own price list."""

from __future__ import annotations

from django import forms
from django.core.files.uploadedfile import UploadedFile

from orders.services.prices import LARGEST_BYTES


class PricesForm(forms.Form):
    file = forms.FileField(
        label="Price list",
        help_text="A CSV file with a heading. You look at it before it is used.",
        widget=forms.ClearableFileInput(attrs={"accept": "text/csv,.csv"}),
    )

    def clean_file(self) -> UploadedFile[bytes]:
        """Check the file's size before it is read into memory."""
        file: UploadedFile[bytes] = self.cleaned_data["file"]
        size, most = (file.size or 0) / 1e6, LARGEST_BYTES / 1e6
        if size > most:
            raise forms.ValidationError(f"The file has {size:.0f} MB; {most:.0f} MB are allowed. Is it another file?")
        return file

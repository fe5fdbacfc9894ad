"""The forms for setting up a lab and uploading its catalogue file."""

from __future__ import annotations

from django import forms
from django.conf import settings
from django.core.files.uploadedfile import UploadedFile

from dispensing.forms.model_form import ModelForm
from orders.models import Lab
from orders.services.catalogues import LARGEST_BYTES
from orders.services.labs import LAB_FIELDS


class LabForm(ModelForm[Lab]):
    class Meta:
        model = Lab
        fields = list(LAB_FIELDS)
        help_texts = {
            "name": "Exactly as its catalogue names it.",
            "email": "Orders sent by e-mail go there as PDF, and as JSON if wanted. Empty: they are fetched by hand.",
            "wants_json": "Untick if the lab wants the PDF alone in its mails; the order is inside it as well.",
            "url": "As in https://lab.example/orders. Needs a secret, which you make below once the lab is saved.",
            "folder": f"The name of a folder in {settings.LABS_FOLDER} on the server.",
            "active": "Untick to stop ordering from it; its orders stay on the record.",
        }


class CatalogueForm(forms.Form):
    file = forms.FileField(
        label="Catalogue file",
        help_text="A lens-catalogue/1 file (JSON) from the lab. It replaces the one in use for new orders.",
        widget=forms.ClearableFileInput(attrs={"accept": "application/json,.json"}),
    )

    def clean_file(self) -> UploadedFile[bytes]:
        """Check the file's size before it is read into memory."""
        file: UploadedFile[bytes] = self.cleaned_data["file"]
        size, most = (file.size or 0) / 1e6, LARGEST_BYTES / 1e6
        if size > most:
            raise forms.ValidationError(f"The file has {size:.0f} MB; {most:.0f} MB are allowed. Is it another file?")
        return file

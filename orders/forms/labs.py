"""Setting up a lab, and handing over its catalogue file."""

from django import forms

from orders.models import Lab
from orders.services.labs import LAB_FIELDS


class LabForm(forms.ModelForm):
    class Meta:
        model = Lab
        fields = list(LAB_FIELDS)
        help_texts = {
            "name": "Exactly as its catalogue names it.",
            "email": "Orders go there as PDF and JSON. Empty: orders are downloaded by hand.",
            "active": "Untick to stop ordering from it; its orders stay on the record.",
        }


class CatalogueForm(forms.Form):
    file = forms.FileField(
        label="Catalogue file",
        help_text="A lens-catalogue/1 file (JSON) from the lab. It replaces the one in use for new orders.",
        widget=forms.ClearableFileInput(attrs={"accept": "application/json,.json"}),
    )

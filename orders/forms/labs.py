"""The form for setting up a lab."""

from __future__ import annotations

from django.conf import settings

from dispensing.forms.model_form import ModelForm
from orders.models import Lab
from orders.services.labs import LAB_FIELDS


class LabForm(ModelForm[Lab]):
    class Meta:
        model = Lab
        fields = list(LAB_FIELDS)
        help_texts = {
            "name": "Exactly as its catalogue names it.",
            "email": "Orders sent by e-mail go there as PDF, and as JSON if wanted. Empty: they are fetched by hand.",
            "wants_json": "Untick if the lab wants the PDF alone in its mails; the order is inside it as well.",
            "url": "As in https://lab.example/orders. Needs a secret, made on this page once the lab is saved.",
            "folder": f"The name of a folder in {settings.LABS_FOLDER} on the server.",
            "account": "Stands on orders, and beside the lab's phone wherever somebody has to ring it.",
            "working_days": "From sending to arrival: a pair is expected after so many, until the lab says a day.",
            "active": "Untick to stop ordering from it; its orders stay on the record.",
        }

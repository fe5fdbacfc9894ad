"""Filters the list of orders. Nothing about a patient is asked here, because it would appear in the address."""

from django import forms
from django.http import QueryDict

from dispensing.forms.fields import offer, offered
from orders.models import Lab


class BoardForm(forms.Form):
    lab = forms.ChoiceField(label="Lab", required=False)
    show = forms.ChoiceField(
        label="Only",
        required=False,
        choices=[
            ("", "All"),
            ("late", "Late"),
            ("waiting", "Not sent yet"),
            ("unsent", "Did not, or may not have, reached the lab"),
            ("promise", "Past the day the lab promised"),
            ("unacknowledged", "Withdrawn, and the lab has not said that it knows"),
        ],
    )

    def __init__(self, data: QueryDict | None = None):
        super().__init__(data)
        labs = Lab.objects.values_list("public_id", "name")
        offer(self, "lab", [("", "All labs"), *((str(public_id), name) for public_id, name in labs)])

    def words(self) -> list[str]:
        """What was chosen, in the page's own words."""
        chosen = ((dict(offered(self, name)), self.cleaned_data.get(name)) for name in self.fields)
        return [labels[value] for labels, value in chosen if value]

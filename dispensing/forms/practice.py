"""The practice's settings, each explained by what it changes for the people who work here."""

from django import forms

from dispensing.forms.model_form import ModelForm
from dispensing.forms.prescriptions import vertex_of_a_test
from dispensing.models import Practice
from dispensing.models.practice import SecondReaderFor
from dispensing.trade import figure

KEEPING = "record-keeping"

HELP = {
    "name": "Appears on every page, order and message to a patient.",
    "address": "Appears on lab orders and patients' copies, as typed here.",
    "country": "Two letters, as in GB or US. Decides which laws apply, and in the US that dates begin with the month.",
    "state": "Only where its own rules differ, as in CA.",
    "tolerance_standard": "Which one finished spectacles are to be judged by when they come back from the lab.",
    "second_reader_for": "Such a pair waits, once it is read, until somebody else has read it too.",
    "cylinder_form": "How prescriptions are shown. They are kept in the form in which they were written.",
    "eye_headings": "What the right and the left eye are called on pages and orders.",
    "paper": "The drawing of the lenses is life-size if the paper has room for it.",
    "rounding_mm": "How PDs and heights are shown and ordered. The mean of the readings itself is kept unrounded.",
    "test_vertex_mm": "Of the trial frame or phoropter here: it is filled in for a prescription tested here.",
    "order_prefix": "Letters that order numbers begin with, as in D-00001.",
    "idle_minutes": "Half an hour is usual: a fitting takes about as long, and records left open longer are anybody's. "
    "What is typed on a page is kept until its person signs in again.",
    "token_days": "A program's token ends after so long, or earlier if its owner chooses. A year makes somebody look "
    "once a year at what still needs one.",
    "managers_need_second_factor": "A manager without one is asked to set it up before anything else.",
    "keep_adult_years": "Counted from the day the patient was last seen. "
    f"{figure(KEEPING, 'adult_years'):g} years is the usual guidance in the UK.",
    "keep_child_until_age": "A child's record is kept at least until this age; whichever is later applies.",
}


class PracticeForm(ModelForm[Practice]):
    test_vertex_mm = vertex_of_a_test("Vertex distance of tests here", HELP["test_vertex_mm"])

    second_reader_for = forms.MultipleChoiceField(
        label="A second reader for",
        choices=SecondReaderFor.choices,
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text=HELP["second_reader_for"],
    )

    class Meta:
        model = Practice
        fields = [
            "name",
            "address",
            "phone",
            "email",
            "country",
            "state",
            "tolerance_standard",
            "second_reader_for",
            "cylinder_form",
            "eye_headings",
            "paper",
            "rounding_mm",
            "test_vertex_mm",
            "order_prefix",
            "idle_minutes",
            "token_days",
            "managers_need_second_factor",
            "keep_adult_years",
            "keep_child_until_age",
        ]
        help_texts = HELP
        labels = {
            "idle_minutes": "Idle minutes before sign-out",
            "token_days": "Days until an API token ends",
            "managers_need_second_factor": "Managers need a second factor",
            "email": "E-mail",
        }
        widgets = {
            "address": forms.Textarea(attrs={"rows": 3}),
            "cylinder_form": forms.RadioSelect,
            "eye_headings": forms.RadioSelect,
            "rounding_mm": forms.RadioSelect,
        }

    def clean_country(self) -> str:
        country = str(self.cleaned_data["country"]).strip().upper()
        if len(country) != 2 or not (country.isascii() and country.isalpha()):
            raise forms.ValidationError(f"“{country}” is not a country's two letters. Type them as in GB or US.")
        return country

    def clean_state(self) -> str:
        return str(self.cleaned_data["state"]).strip().upper()

    def clean_order_prefix(self) -> str:
        prefix = str(self.cleaned_data["order_prefix"]).strip().upper()
        if not (prefix.isascii() and prefix.isalnum()):
            raise forms.ValidationError("Order numbers begin with letters or figures only, as in D or BR2.")
        return prefix

    def clean_idle_minutes(self) -> int:
        return self._between("idle_minutes", 5, 240, "minutes")

    def clean_token_days(self) -> int:
        return self._between("token_days", 1, 1830, "days")

    def _between(self, name: str, low: int, high: int, unit: str) -> int:
        value: int = self.cleaned_data[name]
        if not low <= value <= high:
            raise forms.ValidationError(f"{value} {unit}: {low} to {high} can be set.")
        return value

    def clean_keep_adult_years(self) -> int:
        return self._within("keep_adult_years", "adult", "years")

    def clean_keep_child_until_age(self) -> int:
        return self._within("keep_child_until_age", "child", "years of age")

    def _within(self, name: str, whose: str, unit: str) -> int:
        value: int = self.cleaned_data[name]
        low, high = figure(KEEPING, f"{whose}_least_years"), figure(KEEPING, f"{whose}_most_years")
        if not low <= value <= high:
            raise forms.ValidationError(f"{value} {unit}: {low:g} to {high:g} can be set.")
        return value

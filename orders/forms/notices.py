"""Notices to patients: the practice's own words and hours, and which notice to send by which way."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms

from dispensing.forms.model_form import ModelForm
from orders.models import NoticeSettings
from orders.notices.quiet import DAYS
from orders.notices.wording import KINDS, LONGEST, ONLY_OF_A_DELAY, PARTS, PLACEHOLDERS, Kind, faults

LEAST_DAYS, MOST_DAYS = 1, 90


def words_name(kind: Kind, part: str) -> str:
    return f"{kind}_{part}"


class NoticeSettingsForm(ModelForm[NoticeSettings]):
    """Every wording is a field of its own, judged beside it."""

    quiet_days = forms.TypedMultipleChoiceField(
        label="No notices on", choices=list(enumerate(DAYS)), coerce=int, required=False,
        widget=forms.CheckboxSelectMultiple,
    )  # fmt: skip
    automatic = forms.MultipleChoiceField(
        label="Sent without a press",
        choices=[(str(kind), words) for kind, words in KINDS.items()],
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="Only to patients who agreed, by e-mail where they agreed to both. Without a tick, somebody presses.",
    )
    remind_after = forms.IntegerField(label="Reminder after, days", min_value=LEAST_DAYS, max_value=MOST_DAYS)

    class Meta:
        model = NoticeSettings
        fields = ["quiet_from", "quiet_until", "quiet_days", "automatic", "remind_after"]
        labels = {"quiet_from": "Quiet from", "quiet_until": "Until"}
        help_texts = {"quiet_from": "As in 20:00. What is written meanwhile leaves when the quiet is over."}
        widgets = {name: forms.TimeInput(format="%H:%M") for name in ("quiet_from", "quiet_until")}
        error_messages = {
            name: dict.fromkeys(("invalid", "required"), "Write the hour and minute, as in 20:00.")
            for name in ("quiet_from", "quiet_until")
        }

    def __init__(self, *args: Any, **kwargs: Any):
        super().__init__(*args, **kwargs)
        for kind in Kind:
            for part, label in PARTS.items():
                rows = {"subject": 1, "mail": 6, "text": 3}[part]
                field = forms.CharField(
                    label=label,
                    required=False,
                    strip=True,
                    initial=self.instance.words.get(kind, {}).get(part, ""),
                    widget=forms.Textarea(attrs={"rows": rows, "dir": "auto"}) if rows > 1 else forms.TextInput(),
                    help_text=f"At most {LONGEST[part]} characters.",
                )
                self.fields[words_name(kind, part)] = field

    @property
    def sections(self) -> list[tuple[str, list[forms.BoundField], list[tuple[str, str]]]]:
        """Each kind in words, its fields, and the placeholders that it has, each with what it stands for."""
        return [
            (words, [self[words_name(kind, part)] for part in PARTS], list(placeholders_of(kind)))
            for kind, words in KINDS.items()
        ]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        for kind in Kind:
            for part in PARTS:
                name = words_name(kind, part)
                for fault in faults(cleaned.get(name, ""), kind, part):
                    self.add_error(name, fault)
        if len(cleaned.get("quiet_days", ())) == len(DAYS):
            self.add_error("quiet_days", "With every day ticked, no notice would ever leave.")
        return cleaned

    def values(self) -> dict[str, Any]:
        """What is to be stored."""
        words = {str(kind): {part: self.cleaned_data[words_name(kind, part)] for part in PARTS} for kind in Kind}
        return {name: self.cleaned_data[name] for name in self.Meta.fields} | {"words": words}


def placeholders_of(kind: Kind) -> Iterable[tuple[str, str]]:
    """As they are typed, each with what it stands for."""
    for name, words in PLACEHOLDERS.items():
        if name != ONLY_OF_A_DELAY or kind is Kind.DELAYED:
            yield f"{{{name}}}", words


class NoticeForm(forms.Form):
    """One press: which notice, by which way. ``key``: of the press, so that two presses send one notice."""

    kind = forms.ChoiceField(choices=[(str(kind), words) for kind, words in KINDS.items()])
    channel = forms.ChoiceField(choices=[("email", "E-mail"), ("sms", "Text message")])
    key = forms.UUIDField()

"""Django's model form, able to name its model: ``ModelForm[Patient]``. Django's own does not take brackets yet."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django import forms

if TYPE_CHECKING:
    from django.forms import ModelForm
else:

    class ModelForm(forms.ModelForm):
        """For type checking only; at run time it is Django's own form."""

        def __class_getitem__(cls, model: object) -> type[ModelForm]:
            return cls


__all__ = ["ModelForm"]

"""A change of a draft that was not typed on the desk, judged by the desk's own forms: of a program, or of a remedy.

The forms keep what is at fault as it was and drop what is not offered, because the person sees it on the page. Here
nobody would see it, so both are refused.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.core.exceptions import ValidationError
from django.forms import Form

from dispensing.forms.typed import typed, yes_or_no
from orders.documents.lens_order import EYES
from orders.forms.desk import DeskForms
from orders.forms.job import JobForm
from orders.forms.lenses import KeptLensForm, LensForm
from orders.models import Order
from orders.services.remaking import require_remakeable

RECORDS = ("prescription", "fitting", "lab")
JUDGED_ALONE = ("frame", "remake_of", "lenses", "kept_lens")
Faults = dict[str, list[str]]


def fields_asked(order: Order, asked: Mapping[str, Any]) -> dict[str, Any]:
    """The draft's fields as they may be saved. ``asked``: those that are to change, with rows and JSON values.

    ``lenses`` and ``kept_lens`` replace what was chosen before. Raises `ValidationError` with every fault by its path,
    as in ``lenses.right.base_curve_d``.
    """
    forms = DeskForms(order, typed({**JobForm.stored(order), **_job(asked)}))
    job, faults = forms.job.values(), _faults(forms.job, asked)
    fields = {name: job[name] for name in asked if name not in JUDGED_ALONE and name in job}
    if "lab" in asked:
        fields["lab"] = forms.job.lab_chosen
    if "fitting" in asked:
        fields["frame"] = job.get("frame")
    if "frame" in asked:
        fields["frame"] = asked["frame"]
    if "remake_of" in asked:
        fields["remake_of"] = asked["remake_of"]
        faults |= _remake(order, asked["remake_of"])
    if "lenses" in asked:
        fields["lenses"], found = _lenses(forms, asked["lenses"])
        faults |= found
    elif "lab" in asked:
        # What the new lab does not offer falls away, as on the desk.
        fields["lenses"], _ = _lenses(forms, order.lenses)
    if "kept_lens" in asked:
        fields["kept_lens"], found = _kept(asked["kept_lens"])
        faults |= found
    if faults:
        raise ValidationError(faults)
    return fields


def _job(asked: Mapping[str, Any]) -> dict[str, Any]:
    """The fields of the job as they would be typed."""
    values = {name: value for name, value in asked.items() if name not in JUDGED_ALONE}
    for name in RECORDS:
        if name in values:
            values[name] = values[name].public_id if values[name] else ""
    if "other_pair" in values:
        values["other_pair"] = yes_or_no(values["other_pair"])
    return values


def _remake(order: Order, original: Order | None) -> Faults:
    if original is None:
        return {}
    try:
        require_remakeable(original, order)
    except ValidationError as refused:
        return {"remake_of": refused.messages}
    return {}


def _lenses(forms: DeskForms, lenses: Mapping[str, Any] | None) -> tuple[dict[str, Any], Faults]:
    """The lenses as the document has them, and what is wrong with them. An eye that is left out is not made."""
    made: dict[str, Any] = dict.fromkeys(EYES)
    faults: Faults = {}
    for eye in EYES:
        chosen = (lenses or {}).get(eye)
        if chosen is None:
            continue
        form = LensForm(typed(chosen, eye), prefix=eye, catalogue=forms.catalogue, chosen=None)
        made[eye] = form.lens()
        found = _faults(form, form.fields) | form.not_offered()
        faults |= {f"lenses.{eye}.{name}": told for name, told in found.items()}
    return made, faults


def _kept(lens: Mapping[str, Any] | None) -> tuple[dict[str, Any] | None, Faults]:
    if lens is None:
        return None, {}
    written = {**lens, "treatments": ", ".join(lens.get("treatments") or ())}
    form = KeptLensForm(typed(written, "kept"), prefix="kept", kept=None)
    known = form.kept_lens()
    return known, {f"kept_lens.{name}": told for name, told in _faults(form, form.fields).items()}


def _faults(form: Form, names: Mapping[str, Any]) -> Faults:
    return {name: [str(one) for one in told] for name, told in form.errors.items() if name in names}

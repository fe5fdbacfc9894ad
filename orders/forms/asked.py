"""A change to a draft made by a program or a remedy instead of on the desk, validated by the desk's own forms.

The forms leave an invalid value as it was and drop a choice that is not offered, because the person sees this on
the page. Here nobody would see it, so both are refused.
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
from orders.forms.ordered_power import OrderedPowerForm
from orders.models import Order
from orders.services.remaking import require_remakeable

RECORDS = ("prescription", "fitting", "lab")
JUDGED_ALONE = ("frame", "remake_of", "lenses", "powers", "kept_lens")
Faults = dict[str, list[str]]
Judged = tuple[dict[str, Any], Faults]
"""The fields that may be saved, and what is wrong with them, by path."""


def fields_asked(order: Order, asked: Mapping[str, Any]) -> dict[str, Any]:
    """The draft's fields, ready to save. ``asked``: the fields to change, with rows and JSON values.

    ``lenses`` and ``kept_lens`` replace what was chosen before. Raises `ValidationError` with every fault by its
    path, such as ``lenses.right.base_curve_d``.
    """
    forms = DeskForms(order, typed({**JobForm.stored(order), **_job_as_typed(asked)}))
    fields: dict[str, Any] = {}
    faults: Faults = {}
    judged = _job(forms, asked), _remake(order, asked), _lenses(forms, asked), _powers(order, asked), _kept(asked)
    for part, found in judged:
        fields |= part
        faults |= found
    if faults:
        raise ValidationError(faults)
    return fields


def _job_as_typed(asked: Mapping[str, Any]) -> dict[str, Any]:
    values = {name: value for name, value in asked.items() if name not in JUDGED_ALONE}
    for name in RECORDS:
        if name in values:
            values[name] = values[name].public_id if values[name] else ""
    if "other_pair" in values:
        values["other_pair"] = yes_or_no(values["other_pair"])
    return values


def _job(forms: DeskForms, asked: Mapping[str, Any]) -> Judged:
    """Everything but the lenses and the remake; a fitting brings its frame with it unless a frame is named."""
    job = forms.job.values() | {"lab": forms.job.lab_chosen}
    named = {"frame": asked["frame"]} if "frame" in asked else {}
    with_fitting = {"frame": job["frame"]} if "fitting" in asked and "frame" in job else {}
    fields = {name: job[name] for name in asked if name not in JUDGED_ALONE and name in job}
    return fields | with_fitting | named, _faults(forms.job, asked)


def _remake(order: Order, asked: Mapping[str, Any]) -> Judged:
    if "remake_of" not in asked:
        return {}, {}
    original = asked["remake_of"]
    try:
        if original is not None:
            require_remakeable(original, order)
    except ValidationError as refused:
        return {}, {"remake_of": refused.messages}
    return {"remake_of": original}, {}


def _lenses(forms: DeskForms, asked: Mapping[str, Any]) -> Judged:
    """The lenses asked for. In the others, whatever a new lab does not offer is dropped, as on the desk."""
    if "lenses" in asked:
        made, faults = _made(forms, asked["lenses"])
        return {"lenses": made}, faults
    return ({"lenses": _made(forms, forms.order.lenses)[0]}, {}) if "lab" in asked else ({}, {})


def _made(forms: DeskForms, lenses: Mapping[str, Any] | None) -> Judged:
    """No lens is made for an eye that is left out."""
    made: dict[str, Any] = dict.fromkeys(EYES)
    faults: Faults = {}
    for eye in EYES:
        chosen = (lenses or {}).get(eye)
        if chosen is None:
            continue
        chosen = {name: value for name, value in chosen.items() if name != "power"}
        form = LensForm(typed(LensForm.as_typed(chosen), eye), prefix=eye, catalogue=forms.catalogue, chosen=None)
        made[eye] = form.lens()
        found = _faults(form, form.fields) | form.not_offered()
        faults |= {f"lenses.{eye}.{name.replace('edge_', 'edge.')}": told for name, told in found.items()}
    return made, faults


def _powers(order: Order, asked: Mapping[str, Any]) -> Judged:
    """The powers stated to be made. One that is not mentioned stays, and null leaves it to the prescription again."""
    lenses = asked.get("lenses") or {}
    stated = {eye: lens["power"] for eye, lens in lenses.items() if lens is not None and "power" in lens}
    stated |= asked.get("powers") or {}
    if not stated and "powers" not in asked:
        return {}, {}
    powers: dict[str, Any] = dict(order.powers or {})
    faults: Faults = {}
    for eye, power in stated.items():
        form = None if power is None else OrderedPowerForm.of(power)
        powers[eye] = form.power() if form else None
        found = _faults(form, form.fields) if form else {}
        faults |= {f"lenses.{eye}.power.{name}": told for name, told in found.items()}
    return {"powers": {eye: power for eye, power in powers.items() if power}}, faults


def _kept(asked: Mapping[str, Any]) -> Judged:
    if "kept_lens" not in asked:
        return {}, {}
    lens = asked["kept_lens"] or {}
    written = {**lens, "treatments": ", ".join(lens.get("treatments") or ())}
    form = KeptLensForm(typed(written, "kept"), prefix="kept", kept=None)
    known = form.kept_lens()
    return {"kept_lens": known}, {f"kept_lens.{name}": told for name, told in _faults(form, form.fields).items()}


def _faults(form: Form, names: Mapping[str, Any]) -> Faults:
    return {name: [str(one) for one in told] for name, told in form.errors.items() if name in names}

"""The `computed` block of the report: figures as worked out, not rounded, and null if something is missing."""

from __future__ import annotations

from orders.documents.order_report import Computed, ComputedEye, EdgedLens, PowerToBeMade, WornPower
from orders.rules.case import Case, EyeCase


def computed(case: Case) -> Computed:
    """All the computed figures for the order."""
    return Computed(
        right=_eye(case.right),
        left=_eye(case.left),
        vertical_imbalance_pd=case.vertical_imbalance_pd,
        binocular_pd_mm=case.binocular_pd_mm,
        frame_pd_mm=case.frame_pd_mm,
    )


def _eye(eye: EyeCase) -> ComputedEye:
    """One eye's figures; none for an eye with no lens ordered."""
    if eye.lens is None:
        return ComputedEye()
    figures, worn, body = eye.figures, eye.figures.as_worn, eye.figures.body
    return ComputedEye(
        power=_power(eye),
        pd_used_mm=eye.made.pd_mm,
        pd_used_by=eye.made.pd_by,
        decentration_in_mm=figures.decentration_in_mm,
        decentration_up_mm=figures.decentration_up_mm,
        centre_in_mm=figures.centre_in_mm,
        blank_needed_mm=figures.blank_needed_mm,
        blank_by_formula_mm=figures.blank_by_formula_mm,
        near_pd_mm=figures.near_pd_mm,
        near_inset_mm=figures.near_inset_mm,
        base_curve_d=figures.base_curve_d,
        base_curve_by=figures.base_curve.by if figures.base_curve else None,
        centre_thickness_mm=body.centre_thickness_mm if body else None,
        thinnest_mm=body.thinnest_mm if body else None,
        edge_min_mm=body.edge_min_mm if body else None,
        edge_max_mm=body.edge_max_mm if body else None,
        weight_g=body.weight_g if body else None,
        mean_sphere=figures.mean_sphere,
        as_worn=None if worn is None else WornPower(sphere=worn.sphere, cylinder=worn.cylinder, axis=worn.axis),
        as_worn_model=figures.as_worn_model,
        optical_centre_drop_mm=figures.optical_centre_drop_mm,
        as_made=_as_made(eye),
    )


def _power(eye: EyeCase) -> PowerToBeMade:
    power = eye.made_power
    return PowerToBeMade(
        sphere=power.sphere, cylinder=power.cylinder, axis=power.axis, prism=power.prisms, by=eye.made.power_by
    )


def _as_made(eye: EyeCase) -> EdgedLens | None:
    """The lens with its ordered centre thickness, if there is one."""
    body = eye.figures.body_as_ordered
    if body is None:
        return None
    return EdgedLens(
        centre_thickness_mm=body.centre_thickness_mm,
        thinnest_mm=body.thinnest_mm,
        edge_min_mm=body.edge_min_mm,
        edge_max_mm=body.edge_max_mm,
        weight_g=body.weight_g,
    )

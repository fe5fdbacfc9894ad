"""Everything stored of the record and its orders, for comparison before and after a refusal."""

from __future__ import annotations

from typing import Any

from django.db.models import Model

from dispensing.models import Fitting, Frame, Measurement, Patient, PrescribedEye, Prescription
from orders.models import Delivery, Order, OrderDocument, OrderEvent

RECORD = (Patient, Prescription, PrescribedEye, Frame, Fitting, Measurement)
ORDERS = (Order, OrderEvent, OrderDocument, Delivery)
# The desk saves what is right beside a fault: that it was saved, and by whom, is no part of the order.
OF_EVERY_SAVE = {"version", "saved_at", "saved_by_id"}


def all_stored() -> dict[str, list[dict[str, Any]]]:
    """Every row of the record and the orders, bystanders' too."""
    return {model.__name__: _rows(model) for model in (*RECORD, *ORDERS)}


def _rows(model: type[Model]) -> list[dict[str, Any]]:
    rows = model._default_manager.order_by("pk").values()
    return [{name: value for name, value in row.items() if name not in OF_EVERY_SAVE} for row in rows]

"""Lens orders: labs and catalogues, drafts, the frozen documents, their deliveries, and what happened to them.

Three separate kinds of state, never one field: the order's (draft, sent, cancelled, superseded), that of each
delivery of a document, and the append-only list of events from which "where is it" is derived.
"""

from orders.models.aftercare import AftercareNote, Decision, HandOver
from orders.models.deliveries import Delivery, DeliveryAttempt, Sender
from orders.models.documents import OrderDocument
from orders.models.draft_findings import DraftFinding
from orders.models.events import LabWord, OrderEvent
from orders.models.figures import CountedMonth, CountedOrder, Counting
from orders.models.finished_pairs import FinishedReading, InspectionPhoto
from orders.models.labs import Catalogue, Lab, LabSecret, LabUser
from orders.models.notices import Notice, NoticeSettings
from orders.models.orders import Order
from orders.models.prices import PriceList

__all__ = [
    "AftercareNote",
    "Catalogue",
    "CountedMonth",
    "CountedOrder",
    "Counting",
    "Decision",
    "Delivery",
    "DeliveryAttempt",
    "DraftFinding",
    "FinishedReading",
    "HandOver",
    "InspectionPhoto",
    "Lab",
    "LabSecret",
    "LabUser",
    "LabWord",
    "Notice",
    "NoticeSettings",
    "Order",
    "OrderDocument",
    "OrderEvent",
    "PriceList",
    "Sender",
]

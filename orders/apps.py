"""The lens orders app: from a draft to the lab and back."""

from django.apps import AppConfig


class OrdersConfig(AppConfig):
    name = "orders"
    verbose_name = "Lens orders"

    def ready(self) -> None:
        from dispensing.reading_trace import belongs_to_patients
        from orders.models import Delivery, InspectionPhoto, Order, OrderDocument

        belongs_to_patients(
            {
                "order_id": (Order, "patient"),
                "document_id": (OrderDocument, "order__patient"),
                "delivery_id": (Delivery, "document__order__patient"),
                "defect_photo_id": (InspectionPhoto, "reading__order__patient"),
            }
        )
        # Its finder is known from now on; it reads models, which are not there before.
        import orders.finding  # noqa: F401

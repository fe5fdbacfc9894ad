"""The lens orders app: from a draft to the lab and back."""

from django.apps import AppConfig


class OrdersConfig(AppConfig):
    name = "orders"
    verbose_name = "Lens orders"

    def ready(self) -> None:
        # Its finder is known from now on; it reads models, which are not there before.
        import orders.finding  # noqa: F401

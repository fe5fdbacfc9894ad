"""The lens orders app: from a draft to the lab and back."""

from django.apps import AppConfig


class OrdersConfig(AppConfig):
    name = "orders"
    verbose_name = "Lens orders"

"""The app of lens orders: from a draft to the lab and back."""

from django.apps import AppConfig


class OrdersConfig(AppConfig):
    name = "orders"
    verbose_name = "Lens orders"

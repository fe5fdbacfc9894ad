"""The API of orders and labs."""

from django.urls import path
from rest_framework.routers import SimpleRouter

from orders.api.check import CheckView
from orders.api.labs import LabOrderViewSet
from orders.api.orders import OrderViewSet

router = SimpleRouter(use_regex_path=False)
router.register("orders", OrderViewSet, basename="api-order")
router.register("lab-orders", LabOrderViewSet, basename="api-lab-order")

urlpatterns = [path("check/", CheckView.as_view(), name="api-check"), *router.urls]

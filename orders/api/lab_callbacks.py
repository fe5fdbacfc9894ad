"""What a lab posts to us about its orders, signed with the secret it shares with the practice; it needs no token."""

from __future__ import annotations

from typing import Any

from django.http import Http404
from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework.exceptions import NotAuthenticated
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView
from standardwebhooks import Webhook, WebhookVerificationError

from dispensing.access import open_to_all
from orders.api.labs import reported
from orders.api.refusals import noted, valid
from orders.api.serializers import CallbackSerializer, EventSerializer, LabEventSerializer
from orders.models import Lab, Order
from orders.progress import BY_THE_LAB
from orders.services.lab_secrets import secrets_of
from orders.services.lab_users import user_of
from orders.states import OrderState

LONGEST_KEY = 100


class NotSigned(NotAuthenticated):
    default_detail = "The post is not signed with a secret of this lab, or its time is off by more than five minutes."


@open_to_all
class LabCallbackView(APIView):
    """Report what happens to an order, by the Standard Webhooks scheme: `webhook-id`, `webhook-timestamp` and
    `webhook-signature`. One `webhook-id` is noted once; coming again, it is answered as the first time (200).
    """

    authentication_classes: list[Any] = []

    @extend_schema(request=CallbackSerializer, responses={200: EventSerializer, 201: EventSerializer}, auth=[])
    def post(self, request: Request, lab_id: str) -> Response:
        lab = Lab.objects.filter(public_id=lab_id).first()
        key = _signed_key(lab, request)
        asked = valid(CallbackSerializer(data=request.data))
        order = _order(lab, asked["data"]["number"], asked["data"]["revision"])
        # As it came: the form that judges a report over the API judges this one.
        body: Any = request.data
        said = {name: value for name, value in body["data"].items() if name not in ("number", "revision")}
        kind = asked["type"].removeprefix("lens_order.")
        told = noted(LabEventSerializer(data={"kind": kind, **said}), BY_THE_LAB)
        assert lab is not None
        return reported(order, user_of(lab), key, told)

    def get_authenticate_header(self, request: Request) -> str:
        """So that an unsigned post is answered with 401 and not with 403."""
        return "Signature"


def _signed_key(lab: Lab | None, request: Request) -> str:
    """The key of a post that one of the lab's secrets signed. An unknown lab is answered like a wrong signature."""
    body = request._request.body
    headers = {name.lower(): value for name, value in request.headers.items()}
    key = headers.get("webhook-id", "")
    for secret in secrets_of(lab) if lab is not None and len(key) <= LONGEST_KEY else []:
        if _holds(secret, body, headers):
            return key
    raise NotSigned


def _holds(secret: str, body: bytes, headers: dict[str, str]) -> bool:
    try:
        Webhook(secret).verify(body, headers, json_parse=False)
    except (WebhookVerificationError, ValueError):
        return False
    return True


def _order(lab: Lab | None, number: Any, revision: Any) -> Order:
    sent = Order.objects.exclude(sent_at=None).exclude(state=OrderState.DRAFT)
    try:
        return get_object_or_404(sent, lab=lab, number=number, revision=revision)
    except (ValueError, TypeError):
        raise Http404 from None

"""The request as our views meet it: the access gate has let in a member of staff, and htmx can be told apart."""

from django.http import HttpRequest
from django_htmx.middleware import HtmxDetails

from dispensing.models import StaffUser


class StaffRequest(HttpRequest):
    """For annotations only. ``user`` is staff in every view that is not open to all."""

    user: StaffUser
    htmx: HtmxDetails

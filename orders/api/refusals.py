"""How the API refuses a request about an order: 409 for the record's state, 403 for the person, 400 for the body."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from rest_framework import status
from rest_framework.exceptions import APIException, PermissionDenied

from dispensing.api.as_typed import faults_of, refuse
from dispensing.forms.typed import typed
from orders.forms.events import EventForm
from orders.progress import CannotHappen, EventKind
from orders.services.errors import NoSuchFinding, NotAsOrdered, NotLiftable, NotReady, NotRegistered
from orders.services.lab_reports import KeyTaken
from orders.services.permitted import NotTheirs
from orders.states import NotAllowed


class Conflict(APIException):
    """The record is not in the state that the caller expected."""

    status_code = status.HTTP_409_CONFLICT
    default_detail = "The order has changed."
    default_code = "conflict"

    def __init__(self, detail: str | None = None, **also: Any):
        super().__init__(detail)
        self.also = also


class OtherBody(APIException):
    """One key, and another body than the first time."""

    status_code = status.HTTP_422_UNPROCESSABLE_ENTITY
    default_code = "key_taken"


def valid(serializer: Any) -> dict[str, Any]:
    serializer.is_valid(raise_exception=True)
    return dict(serializer.validated_data)


def noted(serializer: Any, may: Iterable[EventKind]) -> dict[str, Any]:
    """The kind and note of an event, validated by the page's form. ``may``: the kinds that the caller may record."""
    form = EventForm(typed(valid(serializer)), may=may)
    refuse(faults_of(form))
    return form.cleaned_data


def with_conflicts(service: Any, **kwargs: Any) -> Any:
    """Run a service. A refusal because of the record's state becomes 409; one because of the person becomes 403."""
    try:
        return service(**kwargs)
    except NotReady as refused:
        findings = [finding.message for finding in refused.findings]
        raise Conflict(str(refused), problems=list(refused.problems), findings=findings) from refused
    except (NotRegistered, NotTheirs) as refused:
        raise PermissionDenied(str(refused)) from refused
    except CannotHappen as refused:
        raise Conflict(str(refused), may=[kind.value for kind in refused.may]) from refused
    except KeyTaken as refused:
        raise OtherBody(str(refused)) from refused
    except (NotAllowed, NotAsOrdered, NoSuchFinding, NotLiftable) as refused:
        raise Conflict(str(refused)) from refused

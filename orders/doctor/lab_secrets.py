"""The secrets shared with labs: each can be opened by a key of the settings."""

from __future__ import annotations

from collections.abc import Iterator

from dispensing.at_rest import NoKeyFits
from dispensing.doctor.registry import Diagnosis, doctor_check, ok, wrong
from orders.models import LabSecret


@doctor_check("lab-secrets")
def secrets_can_be_opened() -> Iterator[Diagnosis]:
    closed = 0
    for secret in LabSecret.objects.select_related("lab").defer("text").order_by("pk"):
        try:
            LabSecret.objects.values_list("text", flat=True).get(pk=secret.pk)
        except NoKeyFits:
            closed += 1
            to_do = "Put the key into ENCRYPTION_KEYS, or make a new secret on the lab's page and give it to the lab."
            yield wrong(f"no key in the settings opens the secret {secret.pk} {secret}", to_do)
    if not closed:
        yield ok("the secrets shared with labs can be opened")

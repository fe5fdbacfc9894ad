"""``manage.py check --deploy`` warns of what the doctor finds wrong with the settings, and by the same check."""

from __future__ import annotations

from typing import Any

from django.core.checks import CheckMessage, Tags, Warning, register

from dispensing.doctor.checks.server import settings_are_fit
from dispensing.doctor.registry import Level


@register(Tags.security, deploy=True)
def settings_of_an_installation(**_: Any) -> list[CheckMessage]:
    found = [diagnosis for diagnosis in settings_are_fit() if diagnosis.level == Level.WRONG]
    return [Warning(diagnosis.said, hint=diagnosis.to_do, id="dispensing.W001") for diagnosis in found]

"""Tokens from before had neither name nor end: each is called by its first letters and ends a year from now."""

from datetime import timedelta
from typing import Any

from django.db import migrations
from django.utils import timezone

DAYS = 365


def name_them(apps: Any, schema_editor: Any) -> None:
    details = apps.get_model("dispensing", "TokenDetail").objects
    for token in apps.get_model("knox", "AuthToken").objects.filter(detail=None):
        details.create(token=token, name=f"Token {token.token_key[:8]}", scope="write")
        if token.expiry is None:
            token.expiry = timezone.now() + timedelta(days=DAYS)
            token.save(update_fields=["expiry"])


class Migration(migrations.Migration):
    dependencies = [("dispensing", "0020_tokens_sessions_and_second_factors")]

    operations = [migrations.RunPython(name_them, migrations.RunPython.noop)]

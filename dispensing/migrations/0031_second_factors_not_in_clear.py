"""Keys of authenticator apps move to the encrypted column, recovery codes to their hashes; neither is left in clear.

Whoever has many staff with recovery codes waits a little: hashing a code takes a good part of a second.
"""

from django.contrib.auth.hashers import get_hasher
from django.db import migrations


def hide(apps, schema_editor):
    devices = apps.get_model("otp_totp", "TOTPDevice").objects
    own = apps.get_model("dispensing", "AuthenticatorApp")
    for pk, key in devices.exclude(key="").values_list("pk", "key"):
        own(totpdevice_ptr_id=pk, secret=key).save_base(raw=True, force_insert=True)
        devices.filter(pk=pk).update(key="")
    tokens = apps.get_model("otp_static", "StaticToken").objects
    codes = apps.get_model("dispensing", "RecoveryCode").objects
    hasher = get_hasher()
    for device in tokens.order_by("device").values_list("device", flat=True).distinct():
        salt = hasher.salt()
        for token in tokens.filter(device=device).values_list("token", flat=True):
            codes.create(device_id=device, hashed=hasher.encode(token, salt))
    tokens.all().delete()


def show_keys(apps, schema_editor):
    """Recovery codes cannot be had back from their hashes; those who have an app make new ones."""
    devices = apps.get_model("otp_totp", "TOTPDevice").objects
    for pk, secret in apps.get_model("dispensing", "AuthenticatorApp").objects.values_list("pk", "secret"):
        devices.filter(pk=pk).update(key=secret)


class Migration(migrations.Migration):
    dependencies = [
        ("dispensing", "0030_room_for_hidden_second_factors"),
        ("otp_static", "0003_add_timestamps"),
        ("otp_totp", "0003_add_timestamps"),
    ]

    operations = [migrations.RunPython(hide, show_keys)]

"""Room for the keys of authenticator apps, encrypted, and for the hashes of recovery codes."""

import django.db.models.deletion
import django_otp.plugins.otp_totp.models
from django.db import migrations, models

import dispensing.at_rest


class Migration(migrations.Migration):
    dependencies = [
        ("dispensing", "0029_frames_found_by_an_index"),
        ("otp_static", "0003_add_timestamps"),
        ("otp_totp", "0003_add_timestamps"),
    ]

    operations = [
        migrations.CreateModel(
            name="AuthenticatorApp",
            fields=[
                (
                    "totpdevice_ptr",
                    models.OneToOneField(
                        auto_created=True,
                        on_delete=django.db.models.deletion.CASCADE,
                        parent_link=True,
                        primary_key=True,
                        serialize=False,
                        to="otp_totp.totpdevice",
                    ),
                ),
                (
                    "secret",
                    dispensing.at_rest.EncryptedText(
                        default=django_otp.plugins.otp_totp.models.default_key, editable=False, max_length=300
                    ),
                ),
            ],
            options={"verbose_name": "authenticator app"},
            bases=("otp_totp.totpdevice",),
        ),
        migrations.CreateModel(
            name="RecoverySet",
            fields=[],
            options={"proxy": True, "indexes": [], "constraints": []},
            bases=("otp_static.staticdevice",),
        ),
        migrations.CreateModel(
            name="RecoveryCode",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("hashed", models.CharField(editable=False, max_length=200)),
                (
                    "device",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="recovery_codes",
                        to="otp_static.staticdevice",
                    ),
                ),
            ],
        ),
    ]

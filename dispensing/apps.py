"""The app of patients, prescriptions, frames and fittings."""

from django.apps import AppConfig


class DispensingConfig(AppConfig):
    name = "dispensing"
    verbose_name = "Dispensing record"

    def ready(self) -> None:
        from dispensing import sign_in_trail

        sign_in_trail.connect()

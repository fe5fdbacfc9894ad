"""The app of patients, prescriptions, frames and fittings."""

from django.apps import AppConfig

from dispensing import keep_readable


class DispensingConfig(AppConfig):
    name = "dispensing"
    verbose_name = "Dispensing record"

    def ready(self) -> None:
        from dispensing import checks, sign_in_trail  # noqa: F401 - the checks only have to be there

        sign_in_trail.connect()
        keep_readable.start()

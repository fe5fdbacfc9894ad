"""Static files under names with a hash of their content; where they were never collected, pages come without them.

A page whose style sheet is missing can still be read and used, and says what is missing (`not_collected`). Whoever
watches the server finds it in the log and in the doctor.
"""

from __future__ import annotations

import logging

from django.contrib.staticfiles import finders
from django.contrib.staticfiles.storage import staticfiles_storage
from whitenoise.storage import CompressedManifestStaticFilesStorage

log = logging.getLogger("datumline.static")


class HashedFiles(CompressedManifestStaticFilesStorage):  # type: ignore[misc]  # whitenoise has no types
    """As its parent, but a file that was not collected keeps its plain name instead of breaking the page."""

    missing = False

    def stored_name(self, name: str) -> str:
        try:
            return str(super().stored_name(name))
        except ValueError:
            if finders.find(name) is None:
                raise  # no file of ours at all
            if not self.missing:
                log.error(
                    "Static files are not collected (%s is missing); run manage.py collectstatic, then restart", name
                )
            self.missing = True
            return name


def not_collected() -> bool:
    """Whether a page asked for a static file that was never collected. Always False where nothing is collected."""
    return bool(getattr(staticfiles_storage, "missing", False))

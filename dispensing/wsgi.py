"""The WSGI entry point, for gunicorn."""

import os

from django.core.wsgi import get_wsgi_application

from dispensing.private import keep_private

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "dispensing.settings")

keep_private()
application = get_wsgi_application()

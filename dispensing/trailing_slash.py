"""An address without its trailing slash redirects to the one with it, and a POST stays a POST."""

from django.http import HttpResponsePermanentRedirect
from django.middleware.common import CommonMiddleware


class SameMethodRedirect(HttpResponsePermanentRedirect):
    # After a 301 most programs repeat the request as a GET, and what was to be written is silently lost.
    status_code = 308


class TrailingSlashMiddleware(CommonMiddleware):
    response_redirect_class = SameMethodRedirect

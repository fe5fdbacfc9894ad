"""An address without its last slash leads to the one with it, and a POST stays a POST on the way."""

from django.http import HttpResponsePermanentRedirect
from django.middleware.common import CommonMiddleware


class SameMethodRedirect(HttpResponsePermanentRedirect):
    # After a 301 most programs ask again by GET, and what was to be written is lost without a word.
    status_code = 308


class TrailingSlashMiddleware(CommonMiddleware):
    response_redirect_class = SameMethodRedirect

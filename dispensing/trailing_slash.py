"""An address without its trailing slash redirects to the one with it, and a POST stays a POST."""

from django.conf import settings
from django.http import HttpRequest, HttpResponsePermanentRedirect
from django.middleware.common import CommonMiddleware


class SameMethodRedirect(HttpResponsePermanentRedirect):
    # After a 301 most programs repeat the request as a GET, and what was to be written is silently lost.
    status_code = 308


class TrailingSlashMiddleware(CommonMiddleware):
    response_redirect_class = SameMethodRedirect

    def process_request(self, request: HttpRequest) -> HttpResponsePermanentRedirect | None:
        # Programs that watch this machine ask by its number, which is no name of the practice.
        return None if request.path_info in settings.WATCHING_ADDRESSES else super().process_request(request)

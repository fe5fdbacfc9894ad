"""The root of all addresses. Public ids are UUIDs; nothing about a patient stands in a URL.

To add pages of a noun: write ``dispensing/url_routes/<noun>.py`` with its ``urlpatterns`` and name it here.
"""

from django.urls import include, path

urlpatterns = [
    path("", include("dispensing.url_routes.account")),
    path("", include("dispensing.url_routes.patients")),
    path("", include("dispensing.url_routes.prescriptions")),
    path("", include("dispensing.url_routes.frames")),
    path("", include("dispensing.url_routes.fittings")),
    path("", include("dispensing.url_routes.photo_fittings")),
    path("", include("dispensing.url_routes.practice")),
    path("", include("orders.urls")),
    path("api/", include("dispensing.url_routes.api")),
    path("api/", include("orders.api_urls")),
]

handler404 = "dispensing.views.errors.not_found"
handler500 = "dispensing.views.errors.broken"

"""Lists by key, newest or alphabetical; never by offset."""

from rest_framework.pagination import CursorPagination


class ByKey(CursorPagination):
    page_size = 50
    ordering = "-pk"


class ByName(CursorPagination):
    page_size = 50
    ordering = ("family_name", "given_names", "pk")

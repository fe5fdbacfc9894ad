"""The root of all addresses. Public ids are UUIDs; nothing about a patient stands in a URL."""

urlpatterns: list = []

"""Fittings from photographs and from the rule: marks in, measurements with an honest ± out.

Pure: standard library, numpy and pydantic. It must never know about Django, the database, a request, the clock or
an order. The doors are ``measure_sheet`` in ``several`` for documents, and ``composed`` in ``on_record`` for what the
record holds; the formats are in ``documents``.
"""

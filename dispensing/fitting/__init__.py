"""Fittings from photographs and from the rule: marks go in, measurements with an honest ± come out.

Pure: it uses only the standard library, numpy and pydantic. It must never know about Django, the database, a request,
the clock or an order. The way in is ``measure_sheet`` in ``several`` for documents, and ``composed`` in ``on_record``
for what the record holds; the formats are in ``documents``.
"""

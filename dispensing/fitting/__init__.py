"""Fittings from photographs and from the rule: marks in, measurements with an honest ± out.

Pure: standard library, numpy and pydantic. It must never know about Django, the database, a request, the clock or
an order. The door is ``measure`` in ``dispensing.fitting.measure``; the formats are in ``documents``.
"""

"""The outbox: rows written with the document are claimed with a lease, sent outside any transaction, and recorded.

Claim, send, record: a row is never marked as sent before it has been. If the worker dies in between, the lease runs
out and the row becomes ``unknown``, for a person to look into.
"""

"""What ``manage.py doctor`` looks at in orders. The modules only read; the doctor finds this package by its name."""

from orders.doctor import catalogues, documents, finished_pairs, lab_secrets, numbers, outbox, places

__all__ = ["catalogues", "documents", "finished_pairs", "lab_secrets", "numbers", "outbox", "places"]

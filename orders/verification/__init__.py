"""The finished pair held against the order: `verify` says of each figure whether the standard allows it.

Pure: an order as sent, readings and a standard in, a ``finished-verdict/1`` out.
"""

from orders.verification.verdict import verify

__all__ = ["verify"]

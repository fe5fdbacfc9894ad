"""What-if for an order: which change of lens, blank, treatment or frame would clear a finding.

Pure: documents in, proposals out, each verified by running the order check on the changed order. These modules
must never know Django, a database or a page, and never change an order themselves.
"""

from orders.options.change import Change, changed
from orders.options.remedies import FindingKey, finding_key, remedies
from orders.options.remedy import Remedy

__all__ = ["Change", "FindingKey", "Remedy", "changed", "finding_key", "remedies"]

"""The order check: rules a careful dispenser and a good lab apply, and the report they make.

Pure: it knows the order, catalogue and report documents and the optics core, and must never know Django, a database,
a clock or a page. Importing it, or any part of it, registers every rule: the families come first.
"""

import orders.rules.families  # noqa: F401 - registers the rules
from dispensing.trade import PracticeLimits
from orders.rules.check import check, settled

__all__ = ["PracticeLimits", "check", "settled"]

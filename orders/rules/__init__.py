"""The order check: rules a careful dispenser and a good lab apply, and the report they make.

Pure: knows the order, catalogue and report documents and the optics core, never Django, a database, a clock
or a page.
"""

from orders.rules.check import check
from orders.rules.limits import PracticeLimits

__all__ = ["PracticeLimits", "check"]

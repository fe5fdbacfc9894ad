"""The trade's own facts, each said once: limits, bands, steps, ages, adds, light transmitted; with dates and sources.

The lowest pure part: everything may read it, and it knows nothing of the project. The figures are in
``data/facts.toml``; rows by age, index or country are in the other files beside it.
"""

from dispensing.trade.facts import figure
from dispensing.trade.limits import Limits, PracticeLimits

__all__ = ["Limits", "PracticeLimits", "figure"]

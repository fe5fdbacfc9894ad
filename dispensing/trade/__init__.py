"""The trade's own facts, each said once: limits, bands, steps, ages, adds, light let through; dated and sourced.

The lowest pure part: everything may read it, and it knows nothing of the project. The figures stand in
``data/facts.toml``, rows that go by age, index or country in the other files beside it.
"""

from dispensing.trade.facts import figure
from dispensing.trade.limits import Limits, PracticeLimits

__all__ = ["Limits", "PracticeLimits", "figure"]

"""``python -m tests.orders.bad_orders``: the table, what escaped, and what was asked about clean orders.

With ``--held-out``, the same of the set on which no rule is tuned.
"""

from __future__ import annotations

import argparse

from tests.orders.bad_orders.orders import HELD_OUT, HERE, bad_orders, clean_orders
from tests.orders.bad_orders.trial import Tried, asks_each, share, table, tried


def _escaped(result: Tried) -> str:
    one = result.written
    found = ", ".join(sorted({f"{finding.rule} ({finding.level})" for finding in result.findings})) or "nothing"
    return f"- {one.theme}: {one.id} (at least {one.level})\n    {one.says}\n    The check says: {found}"


def _asked(result: Tried) -> list[str]:
    return [f"- {result.written.id}: {part.rule} ({part.level}): {part.says}" for part in result.stops + result.asks]


def main() -> None:
    asked_for = argparse.ArgumentParser(prog="python -m tests.orders.bad_orders")
    asked_for.add_argument("--held-out", action="store_true", help="the set on which no rule is tuned")
    folder = HELD_OUT if asked_for.parse_args().held_out else HERE
    bad, clean = tried(bad_orders(folder)), tried(clean_orders(folder))
    print(table(bad, clean))
    print(f"\nCaught: {share(bad):.1%} of {len(bad)}. A clean order: {asks_each(clean):.2f} asks.")
    print(f"Clean orders stopped: {sum(1 for result in clean if result.stops)}.")
    print("\nEscaped, with what a dispenser would have said:")
    print("\n".join(_escaped(result) for result in bad if not result.caught))
    print("\nAsked of clean orders:")
    print("\n".join(line for result in clean for line in _asked(result)))


if __name__ == "__main__":
    main()

"""How long the order check takes: ``python -m tests.benchmarks.bench_check``.

Prints processor time, so that other work on the machine does not count. The goals: one check, all rules and all
geometry, below 5 ms in process, even for a frame never seen before; ``check_order`` at least 1,000 orders a minute on
one core, including reading the files. Below that it prints where the time of a check goes.
"""

from __future__ import annotations

import io
import json
import tempfile
import time
from collections.abc import Callable, Iterable
from functools import partial
from pathlib import Path
from typing import Any

from dispensing.documents import read
from orders.documents.lens_order import FORMAT, LensOrder, parse_order
from orders.rules import check
from orders.rules.case import Case
from orders.rules.check_files import run
from orders.rules.computed import computed
from orders.rules.examples import HERE, clean_order, example_catalogue
from orders.rules.finding import Finding
from orders.rules.registry import Rule, all_rules

FILES = 1000
ROUNDS = 100


def seconds_each(work: Callable[[Any], object], items: Iterable[Any]) -> float:
    """Processor time an item."""
    things = list(items)
    start = time.process_time()
    for thing in things:
        work(thing)
    return (time.process_time() - start) / len(things)


def orders_of_many_frames(count: int) -> list[dict[str, Any]]:
    """Orders of different patients and, but for the trace, different frames."""
    base: dict[str, Any] = json.loads((HERE / "order.json").read_text(encoding="utf-8"))
    result = []
    for number in range(count):
        order = json.loads(json.dumps(base))
        order["number"], order["patient"]["reference"] = f"B-{number}", f"P-{number}"
        order["frame"]["a_mm"] = 47.0 + number % 61 / 10.0
        order["frame"]["b_mm"] = 34.0 + number // 61 / 10.0
        order["frame"]["ed_mm"] = order["frame"]["a_mm"] + 3.0
        result.append(order)
    return result


def report(name: str, seconds: float, goal: float | None = None) -> None:
    of_goal = "" if goal is None else f"   {seconds / goal:6.2f} of the goal"
    print(f"{name:<52}{seconds * 1000:9.3f} ms{of_goal}")


def check_in_process(documents: list[dict[str, Any]]) -> None:
    order, catalogue = clean_order(), example_catalogue()
    report("one check, the frame known", seconds_each(lambda _: check(order, catalogue), range(ROUNDS)), 0.005)
    never_seen = [parse_order(json.dumps(document)) for document in documents[:ROUNDS]]
    report("one check, a frame never seen", seconds_each(lambda o: check(o, catalogue), never_seen), 0.005)


def _findings(rule: Rule, case: Case, _: int) -> list[Finding]:
    return list(rule.judge(case))


def where_the_time_goes() -> None:
    order, catalogue = clean_order(), example_catalogue()
    report("  of it the figures and geometry", seconds_each(lambda _: computed(Case(order, catalogue)), range(ROUNDS)))
    warm = Case(order, catalogue)
    computed(warm)
    by_family: dict[str, float] = {}
    for rule in all_rules():
        spent = seconds_each(partial(_findings, rule, warm), range(ROUNDS))
        by_family[rule.family] = by_family.get(rule.family, 0.0) + spent
    report(f"  of it the {len(all_rules())} rules, figures known", sum(by_family.values()))
    for family, spent in sorted(by_family.items(), key=lambda item: -item[1])[:5]:
        report(f"    {family}", spent)


def check_files(documents: list[dict[str, Any]]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        paths = [Path(folder) / f"{number}.json" for number in range(len(documents))]
        for path, document in zip(paths, documents, strict=True):
            path.write_text(json.dumps(document), encoding="utf-8")
        report("reading one order file", seconds_each(lambda p: read(LensOrder, p, format_name=FORMAT), paths))
        start = time.process_time()
        run(paths, HERE / "catalogue.json", io.StringIO(), io.StringIO())
        spent = time.process_time() - start
    each = spent / len(documents)
    report("check_order, an order file", each, 0.060)
    print(f"check_order: {60.0 / each:,.0f} orders a minute on one core ({len(documents)} files)")


def main() -> None:
    documents = orders_of_many_frames(FILES)
    check_in_process(documents)
    where_the_time_goes()
    check_files(documents)


if __name__ == "__main__":
    main()

"""How long the lab-order PDF takes, and how many there are in a minute: ``python -m tests.benchmarks.bench_pdf``.

First processor time, so that other work on the machine does not count, compared with WeasyPrint alone. The goal: a
whole order, from its frozen text to the bytes of the PDF, in at most 1.3 times what WeasyPrint needs for the same
finished page. Then by the clock, with one process and with two, PDFs drawn and orders read out of PDFs again; on a busy
machine these say more about the machine.
"""

from __future__ import annotations

import multiprocessing
import os
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from typing import Any

ROUNDS = 8
A_WORKER = 20


def seconds(*works: Callable[[], object]) -> list[float]:
    """Processor time of each work's quickest round, taken in turns so that a busy moment meets all of them."""
    quickest = [float("inf")] * len(works)
    for _ in range(ROUNDS):
        for place, work in enumerate(works):
            start = time.process_time()
            work()
            quickest[place] = min(quickest[place], time.process_time() - start)
    return quickest


def the_order() -> tuple[Any, bytes, Any, Any]:
    """A progressive order with a trace of 400 radii: document, frozen text, catalogue and report."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
    import django

    django.setup()
    from orders.documents.canonical import canonical_bytes
    from orders.rules import check
    from tests.orders.orders_on_paper import CATALOGUE_DOCUMENT, PROGRESSIVE, order, traced

    document = order(lenses__right=PROGRESSIVE, lenses__left=PROGRESSIVE, frame__shape=traced(count=400))
    return document, canonical_bytes(document), CATALOGUE_DOCUMENT, check(document, CATALOGUE_DOCUMENT)


def draw() -> bytes:
    """One PDF from its frozen text."""
    from orders.documents.lens_order import parse_order
    from orders.printing.lab_order import lab_order_pdf

    _, text, catalogue, report = PREPARED[0]
    return lab_order_pdf(parse_order(text), text, catalogue=catalogue, report=report)


def read_again() -> bytes:
    """One order taken out of its PDF, as `read_order` does."""
    from orders.documents.inside_pdf import order_inside

    return order_inside(PREPARED[1]).text


PREPARED: list[Any] = []


def prepare() -> None:
    """What a process needs before it is measured: everything loaded, and one PDF drawn."""
    PREPARED[:] = [the_order(), b""]
    PREPARED[1] = draw()


def many(work: Callable[[], bytes], times: int) -> int:
    return len({work() for _ in range(times)})


def a_minute(work: Callable[[], bytes], processes: int) -> float:
    """How often the work is done in a minute by so many processes, by the clock, once all are warm."""
    spawn = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(processes, mp_context=spawn, initializer=prepare) as pool:
        for ready in [pool.submit(many, work, 3) for _ in range(processes)]:
            ready.result()
        start = time.perf_counter()
        done = [pool.submit(many, work, A_WORKER) for _ in range(processes)]
        different = {one.result() for one in done}
        taken = time.perf_counter() - start
    assert different == {1}, "every PDF of one order has the same bytes"
    return 60.0 * A_WORKER * processes / taken


def main() -> None:
    document, text, catalogue, report = the_order()
    from orders.documents.lens_order import parse_order
    from orders.printing.lab_order import lab_order_html, lab_order_pdf, moment_of, pdf_of

    html = lab_order_html(document, text, catalogue=catalogue, report=report)
    alone, whole = seconds(
        lambda: pdf_of(html, text, moment_of(document)),
        lambda: lab_order_pdf(parse_order(text), text, catalogue=catalogue, report=report),
    )
    print(f"WeasyPrint alone, the finished page  {alone * 1000:7.1f} ms")
    print(f"From the frozen text to the PDF      {whole * 1000:7.1f} ms")
    print(f"Ratio (goal at most 1.3)             {whole / alone:7.2f}")
    print(f"PDFs a minute of one core's own time {60.0 / whole:6.0f}")
    for said, work in (("PDFs drawn a minute", draw), ("Orders read out of PDFs a minute", read_again)):
        one, two = (a_minute(work, processes) for processes in (1, 2))
        print(f"{said:<33} {one:7.0f} with one process, {two:7.0f} with two")


if __name__ == "__main__":
    main()

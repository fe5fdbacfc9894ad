"""How long the lab-order PDF takes compared with WeasyPrint alone: ``python -m tests.benchmarks.bench_pdf``.

Prints processor time, so that other work on the machine does not count. The goal: a whole order, from its frozen text
to the bytes of the PDF, in at most 1.3 times what WeasyPrint needs for the same finished page.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable

ROUNDS = 8


def seconds(*works: Callable[[], object]) -> list[float]:
    """Processor time of each work's quickest round, taken in turns so that a busy moment meets all of them."""
    quickest = [float("inf")] * len(works)
    for _ in range(ROUNDS):
        for place, work in enumerate(works):
            start = time.process_time()
            work()
            quickest[place] = min(quickest[place], time.process_time() - start)
    return quickest


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
    import django

    django.setup()
    from orders.documents.canonical import canonical_bytes
    from orders.documents.lens_order import parse_order
    from orders.printing.lab_order import lab_order_html, lab_order_pdf, moment_of, pdf_of
    from orders.rules import check
    from tests.orders.orders_on_paper import CATALOGUE_DOCUMENT, PROGRESSIVE, order, traced

    document = order(lenses__right=PROGRESSIVE, lenses__left=PROGRESSIVE, frame__shape=traced(count=400))
    text, report = canonical_bytes(document), check(document, CATALOGUE_DOCUMENT)
    html = lab_order_html(document, text, catalogue=CATALOGUE_DOCUMENT, report=report)
    alone, whole = seconds(
        lambda: pdf_of(html, text, moment_of(document)),
        lambda: lab_order_pdf(parse_order(text), text, catalogue=CATALOGUE_DOCUMENT, report=report),
    )
    print(f"WeasyPrint alone, the finished page  {alone * 1000:7.1f} ms")
    print(f"From the frozen text to the PDF      {whole * 1000:7.1f} ms")
    print(f"Ratio (goal at most 1.3)             {whole / alone:7.2f}")


if __name__ == "__main__":
    main()

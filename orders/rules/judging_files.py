"""One order after another judged by itself, here or by several processes that share the work. Pure.

Whatever the number of processes, the results come in the order of the sources, and no more than a few wait.
"""

from __future__ import annotations

import os
import threading
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from dataclasses import dataclass, replace
from datetime import date
from itertools import islice
from multiprocessing import parent_process
from multiprocessing.process import BaseProcess

from dispensing.documents import InvalidDocument
from orders.documents.inside_pdf import is_pdf, order_text
from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.lens_order import LensOrder, parse_order
from orders.documents.order_report import OrderReport
from orders.rules.check import check
from orders.rules.command import NO_STOP, NOT_VALID, STOP
from orders.rules.command import line as line_of
from orders.rules.order_sources import Source

Finish = Callable[[LensOrder, LensCatalogue, Sequence[LensOrder], OrderReport], OrderReport]
AT_ONCE = 20
"""Orders handed to a process together."""
AHEAD = 3
"""So many such lots of each process are under way."""


def as_it_is(
    order: LensOrder, catalogue: LensCatalogue, others: Sequence[LensOrder], report: OrderReport
) -> OrderReport:
    """The report unchanged, as the check made it."""
    return report


@dataclass(frozen=True)
class Judged:
    """``text``: the order as it was read. ``line``: its report, empty without a catalogue and for what has faults.

    ``code``: what it makes of the exit code.
    """

    name: str
    text: bytes = b""
    patient: str | None = None
    line: str = ""
    code: int = NOT_VALID
    faults: tuple[str, ...] = ()


@dataclass(frozen=True)
class Judge:
    """What every order of a call is judged by."""

    catalogue: LensCatalogue | None
    finish: Finish
    today: date | None

    def by_itself(self, source: Source) -> Judged:
        """An order judged as if it were the only one."""
        try:
            content = source.read()
            text = order_text(content) if is_pdf(content) else content
            order = parse_order(text)
        except InvalidDocument as invalid:
            return Judged(source.name, faults=tuple(map(str, invalid.faults)))
        return Judged(source.name, text, order.patient.reference, *self._report(order, ()))

    def beside(self, judged: Judged, others: Sequence[LensOrder]) -> Judged:
        """The same order judged once more beside others of its patient, if there are any."""
        if not others or judged.faults:
            return judged
        line, code = self._report(parse_order(judged.text), others)
        return replace(judged, line=line, code=code)

    def _report(self, order: LensOrder, others: Sequence[LensOrder]) -> tuple[str, int]:
        """As a line, for that is what goes from one process to another soonest; and what it makes of the exit code."""
        if self.catalogue is None:
            return "", NOT_VALID
        report = check(order, self.catalogue, others, today=self.today)
        report = self.finish(order, self.catalogue, others, report)
        return line_of(report), STOP if report.verdict == "stop" else NO_STOP


def in_turn(judge: Judge, orders: Iterable[Source], jobs: int) -> Iterator[Judged]:
    """Every order judged by itself, in turn. ``jobs``: how many processes work at it."""
    if jobs == 1:
        yield from map(judge.by_itself, orders)
        return
    with ProcessPoolExecutor(jobs, initializer=_at_work, initargs=(judge,)) as pool:
        waiting: deque[Future[list[Judged]]] = deque()
        left = iter(orders)
        try:
            # The first lots are small, so that the first reports come at once.
            for size in range(1, AT_ONCE):
                _hand_out(pool, waiting, left, size)
                if len(waiting) > AHEAD * jobs:
                    yield from waiting.popleft().result()
            while _hand_out(pool, waiting, left, AT_ONCE):
                if len(waiting) > AHEAD * jobs:
                    yield from waiting.popleft().result()
            while waiting:
                yield from waiting.popleft().result()
        finally:
            pool.shutdown(cancel_futures=True)


def _hand_out(
    pool: ProcessPoolExecutor, waiting: deque[Future[list[Judged]]], left: Iterator[Source], size: int
) -> bool:
    lot = list(islice(left, size))
    if lot:
        waiting.append(pool.submit(_judge_all, lot))
    return bool(lot)


_judges: list[Judge] = []


def _at_work(judge: Judge) -> None:
    """In a process of its own: ready to judge, and gone when the one that started it is."""
    _judges[:] = [judge]
    above = parent_process()
    if above is not None:
        threading.Thread(target=_end_with, args=[above], daemon=True).start()


def _end_with(above: BaseProcess) -> None:
    above.join()
    os._exit(1)


def _judge_all(lot: list[Source]) -> list[Judged]:
    return [_judges[0].by_itself(source) for source in lot]

"""What is counted and measured, in the usual text format: requests by the name of their page, and what apps add.

With several workers each writes what it counts into the folder that ``PROMETHEUS_MULTIPROC_DIR`` names, and whoever is
asked adds it up. Labels are names of pages, methods and states; never an address, for it names a record.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator

from prometheus_client import CollectorRegistry, Counter, Histogram, generate_latest
from prometheus_client.core import GaugeMetricFamily
from prometheus_client.multiprocess import MultiProcessCollector
from prometheus_client.registry import Collector

Gauges = Callable[[], Iterable[GaugeMetricFamily]]
SECONDS = (0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10, 30)

_own = CollectorRegistry()
requests_answered = Counter(
    "datumline_requests", "Requests answered, by page, method and status.", ("page", "method", "status"), registry=_own
)
seconds_taken = Histogram(
    "datumline_request_seconds", "How long answers took, by page.", ("page",), buckets=SECONDS, registry=_own
)
_gauges: list[Gauges] = []


def measured_gauges(gauges: Gauges) -> Gauges:
    """Registers what an app reads anew whenever it is asked for."""
    if gauges not in _gauges:
        _gauges.append(gauges)
    return gauges


class _Now(Collector):
    def collect(self) -> Iterator[GaugeMetricFamily]:
        for gauges in _gauges:
            yield from gauges()


def as_text() -> bytes:
    """Everything, as Prometheus and others read it."""
    registry = CollectorRegistry()
    if os.environ.get("PROMETHEUS_MULTIPROC_DIR"):
        MultiProcessCollector(registry)  # type: ignore[no-untyped-call]  # the library leaves it without types
        counted = generate_latest(registry)
    else:
        counted = generate_latest(_own)
    now = CollectorRegistry()
    now.register(_Now())
    return counted + generate_latest(now)

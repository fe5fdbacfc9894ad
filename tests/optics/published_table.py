"""The table at the end of a run: how many published rows of each topic exist, were computed, and passed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from tests.optics.published_cases import PublishedCase, all_cases, ambiguous, elsewhere, not_reproduced

KINDS = ("worked", "computed")


def lines_of_table(outcomes: Mapping[str, bool]) -> Iterator[str]:
    """The table's lines; `outcomes` says for each row that ran whether all its tests passed."""
    yield "Worked rows are outside proof; computed rows are regression values and prove nothing by themselves."
    yield f"{'topic':<40}" + "".join(f"{kind + ' rows':>16}{'covered':>9}{'passed':>8}" for kind in KINDS)
    topics = sorted({row.topic for row in all_cases()}, key=lambda topic: int(topic.split()[0]))
    for topic in topics:
        rows = [row for row in all_cases() if row.topic == topic]
        yield f"{topic:<40}" + "".join(_counts([r for r in rows if r.kind == kind], outcomes) for kind in KINDS)
    recalled = [row.id for row in all_cases() if row.kind == "worked" and row.status != "published"]
    yield "Worked rows quoted from memory, so no outside proof: " + ", ".join(recalled)
    yield "Rows whose source leaves something open (see published_remarks.json): " + ", ".join(ambiguous())
    yield "Not reproduced, and why:"
    for case_id, reasons in not_reproduced().items():
        for quantity, reason in reasons.items():
            yield f"  {case_id} {quantity}: {reason}"
    yield "Not computed by the optics core:"
    yield from (f"  {case_id}: {reason}" for case_id, reason in elsewhere().items())
    failed = sorted(case_id for case_id, passed in outcomes.items() if not passed)
    if failed:
        yield "Failed: " + ", ".join(failed)


def _counts(rows: list[PublishedCase], outcomes: Mapping[str, bool]) -> str:
    covered = [row for row in rows if row.id in outcomes]
    passed = [row for row in covered if outcomes[row.id]]
    return f"{len(rows):>16}{len(covered):>9}{len(passed):>8}"

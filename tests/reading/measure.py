"""Reads invented papers and counts: ``python -m tests.reading.measure --sample 60``.

Per field: right, right but marked, empty, wrong and marked, wrong without a mark. ``--perfect`` leaves the recogniser
out. ``--seed`` picks other papers; ``--kinds clean,photo`` and ``--layouts slip`` keep to some.
"""

from __future__ import annotations

import argparse
import random
import time
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from dispensing.prescribing.paper.document import document
from dispensing.prescribing.paper.reading import read_paper
from dispensing.prescribing.paper.words import Word
from tests.reading.damage import KINDS, damaged
from tests.reading.invented import LANGUAGES, invent, truth_of
from tests.reading.layouts import LAYOUTS, Layout, paper
from tests.reading.sheets import PaperSheet

Recogniser = Callable[[bytes], list[Word]]
RESULTS = ("right", "right marked", "empty", "wrong marked", "WRONG")


@dataclass(frozen=True)
class Case:
    """One paper and what is on it."""

    layout: str
    kind: str
    language: str
    sheet: PaperSheet
    truth: dict[str, Any]
    rng: random.Random


def cases(
    count: int, seed: int, kinds: tuple[str, ...] = KINDS, layouts: tuple[Layout, ...] = LAYOUTS
) -> Iterator[Case]:
    """Papers in turn: each layout, language and kind of damage as often as the others, in every combination."""
    for number in range(count):
        rng = random.Random(f"{seed}-{number}")
        layout = layouts[number % len(layouts)]
        turn = number + number // len(layouts)
        language = LANGUAGES[turn % len(LANGUAGES)]
        invented = invent(rng, language)
        sheet, printed = paper(layout, invented)
        kind = kinds[(turn + turn // (2 * len(LANGUAGES))) % len(kinds)]
        yield Case(layout.__name__, kind, language, sheet, truth_of(invented, printed), rng)


def judged(read: dict[str, Any], truth: dict[str, Any]) -> dict[str, str]:
    """For each field of the truth, and each that was read but is not on the paper: how it came out."""
    results = {name: _one(found_in(read, name), wanted) for name, wanted in truth.items()}
    for eye in ("right", "left"):
        for name in ("sphere", "cylinder", "axis", "add", "intermediate_add", "acuity"):
            field = f"{eye}.{name}"
            if field not in truth and read[eye][name] is not None and read[eye][name]["value"] is not None:
                results[field] = _one(read[eye][name], None)
        if f"{eye}.prism" not in truth and read[eye]["prism"]:
            results[f"{eye}.prism"] = _one(found_in(read, f"{eye}.prism"), None)
    return results


def found_in(read: dict[str, Any], name: str) -> dict[str, Any] | None:
    eye, _, field = name.partition(".")
    if not field:
        found: dict[str, Any] | None = read[name]
        return found
    if field != "prism":
        found = read[eye][field]
        return found
    pairs = read[eye]["prism"]
    if not pairs or pairs[0]["amount"]["value"] is None or pairs[0]["base"]["value"] is None:
        return None
    unsure = any("unsure" in part for pair in pairs for part in pair.values())
    value = (pairs[0]["amount"]["value"], pairs[0]["base"]["value"]) if len(pairs) == 1 else tuple(pairs)
    return {"value": value} | ({"unsure": "it is"} if unsure else {})


def _one(found: dict[str, Any] | None, wanted: Any) -> str:
    if found is None or found["value"] is None:
        return "empty"
    said = found["value"]
    same = _plain(said) == _plain(wanted) if isinstance(wanted, str) else said == wanted
    if "unsure" in found:
        return "right marked" if same else "wrong marked"
    return "right" if same else "WRONG"


def _plain(text: Any) -> str:
    """A name or acuity is right whatever its dots and spaces."""
    return "".join(c for c in str(text).casefold() if c.isalnum() or c in "/-")


def measure(
    every: Iterator[Case], recognise: Recogniser | None, show: bool, keep: Path | None = None
) -> dict[tuple[str, str], Counter[str]]:
    """Counts by (kind, field)."""
    counts: dict[tuple[str, str], Counter[str]] = defaultdict(Counter)
    for case in every:
        if recognise is None:
            words = case.sheet.words()
        else:
            content = damaged(case.sheet.picture(), case.kind, case.rng)
            words = recognise(content)
        read = document(read_paper(words), case.layout)
        results = judged(read, case.truth)
        if keep is not None and recognise is not None and not set(results.values()) <= {"right", "right marked"}:
            keep.mkdir(parents=True, exist_ok=True)
            (keep / f"{case.layout}-{case.kind}-{case.language}.jpg").write_bytes(content)
        for name, result in results.items():
            counts[case.kind, name.rpartition(".")[2]][result] += 1
            if show and not result.startswith("right"):
                said = found_in(read, name)
                print(
                    f"  {result}: {case.layout} {case.kind} {case.language} {name}: {said} for {case.truth.get(name)}"
                )
    return counts


def recogniser() -> Recogniser:
    from dispensing.recognition.pages import pages_of
    from dispensing.recognition.recogniser import recognise

    def read(content: bytes) -> list[Word]:
        return [word for page in pages_of(content) for word in recognise(page.picture, page.number)[0]]

    return read


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sample", type=int, default=300)
    parser.add_argument("--seed", type=int, default=4711)
    parser.add_argument("--kinds", default=",".join(KINDS))
    parser.add_argument("--layouts", default="")
    parser.add_argument("--perfect", action="store_true")
    parser.add_argument("--show", action="store_true")
    parser.add_argument("--keep", type=Path, help="where to put the pictures of papers that were not read in full")
    asked = parser.parse_args()
    layouts = tuple(layout for layout in LAYOUTS if not asked.layouts or layout.__name__ in asked.layouts.split(","))
    start = time.perf_counter()
    every = cases(asked.sample, asked.seed, tuple(asked.kinds.split(",")), layouts)
    counts = measure(every, None if asked.perfect else recogniser(), asked.show, asked.keep)
    print_table(counts)
    print(f"{asked.sample} papers in {time.perf_counter() - start:.0f} s")


def print_table(counts: dict[tuple[str, str], Counter[str]]) -> None:
    for kind in sorted({kind for kind, _ in counts}):
        total: Counter[str] = Counter()
        for (of, name), one in sorted(counts.items()):
            if of == kind:
                total += one
                print(f"{kind:8} {name:12} " + " ".join(f"{result} {one[result]:4}" for result in RESULTS))
        every = max(total.total(), 1)
        print(f"{kind:8} {'ALL':12} " + " ".join(f"{result} {total[result] / every:7.2%}" for result in RESULTS) + "\n")


if __name__ == "__main__":
    main()

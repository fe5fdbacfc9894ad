"""``python -m tests.mutants``: draw faults, try them, print the table and the survivors."""

from __future__ import annotations

import argparse
import random
import signal
import sys
import tempfile
import tomllib
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from itertools import islice
from pathlib import Path
from queue import SimpleQueue

from tests.mutants.faults import Fault, faults_in, leaves_a_program
from tests.mutants.strata import STRATA, files, stratum_of
from tests.mutants.trial import Outcome, copy_of_last_commit, run_tests, stop_running, tried

ROOT = Path(__file__).resolve().parents[2]
EQUIVALENTS = Path(__file__).with_name("equivalents.toml")


def drawn(root: Path, seed: int, sample: int, strata: list[str]) -> list[Fault]:
    """The sample, the same for the same seed and program: as many of each part of the program."""
    chance = random.Random(seed)
    by_stratum: dict[str, list[Fault]] = {name: [] for name in strata}
    for path in files(root):
        if stratum_of(path) in by_stratum:
            by_stratum[stratum_of(path)] += faults_in(path, (root / path).read_bytes())
    shares = [sample // len(strata) + (place < sample % len(strata)) for place in range(len(strata))]
    found: list[Fault] = []
    for faults, share in zip(by_stratum.values(), shares, strict=True):
        chance.shuffle(faults)
        usable = (fault for fault in faults if leaves_a_program(fault, (root / fault.path).read_bytes()))
        found += islice(usable, share)
    return found


def equivalents() -> set[tuple[str, str, str]]:
    """File, line before and line after of faults that a person found to change nothing that can be noticed."""
    rows = tomllib.loads(EQUIVALENTS.read_text())["equivalent"]
    return {(row["file"], row["before"], row["after"]) for row in rows}


def try_all(faults: list[Fault], jobs: int, most_seconds: float) -> list[Outcome]:
    """Each in one of ``jobs`` copies; says a line as each one ends, since this takes its time."""
    with tempfile.TemporaryDirectory(prefix="faults-") as folder:
        free: SimpleQueue[Path] = SimpleQueue()
        for number in range(jobs):
            copy = Path(folder) / str(number)
            copy.mkdir()
            copy_of_last_commit(ROOT, copy)
            free.put(copy)

        def one(fault: Fault) -> Outcome:
            copy = free.get()
            try:
                outcome = tried(copy, fault, most_seconds)
            finally:
                free.put(copy)
            print(f"{outcome.ended:9} {outcome.seconds:4.0f} s  {fault.path}:{fault.line}  {outcome.by}", flush=True)
            return outcome

        pool = ThreadPoolExecutor(jobs)
        try:
            outcomes = list(pool.map(one, faults))
        finally:
            stop_running()
            pool.shutdown(cancel_futures=True)
        return _without_false_kills(free.get(), outcomes)


def _without_false_kills(copy: Path, outcomes: list[Outcome]) -> list[Outcome]:
    """A test that fails without any fault as well has noticed nothing."""
    noticed = sorted({outcome.by for outcome in outcomes if "::" in outcome.by})
    if not noticed:
        return outcomes
    code, said = run_tests(copy, noticed, 3600, "--maxfail=1000")
    if code == 0:
        return outcomes
    return [
        Outcome(o.fault, "failing anyway", o.by, o.seconds, o.before, o.after) if f" {o.by} " in f"{said} " else o
        for o in outcomes
    ]


def table(outcomes: list[Outcome]) -> str:
    """A row a part of the program, and one for all; the share leaves out what changes nothing and what timed out."""
    known = equivalents()
    counts: dict[str, Counter[str]] = {name: Counter() for name in STRATA}
    for outcome in outcomes:
        same = outcome.ended == "survived" and (outcome.fault.path, outcome.before, outcome.after) in known
        counts[stratum_of(outcome.fault.path)]["equivalent" if same else outcome.ended] += 1
    counts["all"] = sum(counts.values(), Counter())
    heads = ("killed", "survived", "equivalent", "timed out", "failing anyway")
    lines = ["| Part | Made | " + " | ".join(head.capitalize() for head in heads) + " | Share killed |"]
    lines.append("|---" * (len(heads) + 3) + "|")
    for name, of in counts.items():
        if of:
            judged = of["killed"] + of["survived"]
            share = f"{of['killed'] / judged:.0%}" if judged else "–"
            cells = (name, of.total(), *(of[head] for head in heads), share)
            lines.append("| " + " | ".join(map(str, cells)) + " |")
    return "\n".join(lines)


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.mutants", description=sys.modules["tests.mutants"].__doc__)
    parser.add_argument("--seed", type=int, required=True, help="another seed draws another sample")
    parser.add_argument("--sample", type=int, default=120, help="how many faults; 120 when not given")
    parser.add_argument("--of", action="append", choices=STRATA, help="only of this part; may be given again")
    parser.add_argument("--jobs", type=int, default=2, help="how many at a time; 2 when not given")
    parser.add_argument("--most-seconds", type=float, default=300.0, help="for one fault; 300 when not given")
    parser.add_argument("--list", action="store_true", help="only print the faults drawn")
    asked = parser.parse_args(arguments)
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))  # So that the copies are taken away then, too.
    faults = drawn(ROOT, asked.seed, asked.sample, asked.of or list(STRATA))
    if asked.list:
        for fault in faults:
            before, after = fault.as_lines((ROOT / fault.path).read_bytes())
            print(f"{fault.path}:{fault.line} {fault.kind}\n  - {before}\n  + {after}")
        return 0
    outcomes = try_all(faults, asked.jobs, asked.most_seconds)
    print(f"\n{table(outcomes)}\n")
    for outcome in outcomes:
        if outcome.ended != "killed":
            print(f"{outcome.ended}: {outcome.fault.path}:{outcome.fault.line} ({outcome.fault.kind})")
            print(f"  - {outcome.before}\n  + {outcome.after}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

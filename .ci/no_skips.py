"""Fails when the run that ended just now left out what it should have run.

Reads the JUnit files of ``manage.py test``: both databases must be there, every test that touches one must really have
been on that one, the browser must have been driven where it is driven, and nothing may have been skipped.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable
from pathlib import Path
from xml.etree import ElementTree

MUST_RUN = {
    "sqlite": (("touches", "sqlite"), ("drives", "browser")),
    "postgresql": (("touches", "postgresql"),),
}


def main(folder: Path) -> int:
    faults = [fault for database in MUST_RUN for fault in faults_of(folder, database)]
    print("\n".join(faults) or "No test was left out.")
    return 1 if faults else 0


def faults_of(folder: Path, database: str) -> list[str]:
    path = folder / f"{database}.xml"
    if not path.exists():
        return [f"{database}: the tests did not run; {path} is missing."]
    report = ElementTree.parse(path)  # noqa: S314 - written by our own test run a moment ago
    faults, ran = [], set()
    for case in report.iter("testcase"):
        name = f"{case.get('classname')}.{case.get('name')}"
        if case.find("skipped") is not None:
            faults.append(f"{database}: skipped: {name}")
            continue
        said = properties(case.iterfind("properties/property"))
        ran |= said
        faults += [
            f"{database}: {name} ran on {value}."
            for kind, value in sorted(said)
            if kind == "touches" and value != database
        ]
    missing = [of_kind for of_kind in MUST_RUN[database] if of_kind not in ran]
    return faults + [f"{database}: no test ran that {' '.join(of_kind)}." for of_kind in missing]


def properties(elements: Iterable[ElementTree.Element]) -> set[tuple[str, str]]:
    return {(element.get("name", ""), element.get("value", "")) for element in elements}


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1])))

"""Fails when the run that ended just now left out what it should have run.

Reads the JUnit files of ``manage.py test``: both databases must be there, really be those databases, have run tests
that touch the database and tests that drive the browser, and have skipped none.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable
from pathlib import Path
from xml.etree import ElementTree

DATABASES = ("sqlite", "postgresql")
MUST_RUN = (("touches", "database"), ("drives", "browser"))


def main(folder: Path) -> int:
    faults = [fault for database in DATABASES for fault in faults_of(folder, database)]
    print("\n".join(faults) or "No test was left out.")
    return 1 if faults else 0


def faults_of(folder: Path, database: str) -> list[str]:
    path = folder / f"{database}.xml"
    if not path.exists():
        return [f"{database}: the tests did not run; {path} is missing."]
    report = ElementTree.parse(path)  # noqa: S314 - written by our own test run a moment ago
    faults = []
    if ("database", database) not in properties(report.iterfind("testsuite/properties/property")):
        faults.append(f"{database}: the run was on another database.")
    ran = []
    for case in report.iter("testcase"):
        if case.find("skipped") is None:
            ran.append(properties(case.iterfind("properties/property")))
        else:
            faults.append(f"{database}: skipped: {case.get('classname')}.{case.get('name')}")
    for kind in MUST_RUN:
        if not any(kind in of_case for of_case in ran):
            faults.append(f"{database}: no test ran that {' the '.join(kind)}.")
    return faults


def properties(elements: Iterable[ElementTree.Element]) -> set[tuple[str | None, str | None]]:
    return {(element.get("name"), element.get("value")) for element in elements}


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1])))

"""``manage.py verify_finished``: its line, its exit codes, and files that are not valid."""

from __future__ import annotations

import json
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from tests.orders.verification.pairs import as_ordered, eye, order

PAIR = order(eye(-3.25, -1.0, 170.0, 2.0), eye(-2.0, -0.5, 10.0, 2.0), "progressive")


def _run(folder: Path, read: dict[str, Any], *more: str, text: str | None = None) -> tuple[int, str, str]:
    (folder / "order.json").write_text(PAIR.model_dump_json())
    (folder / "readings.json").write_text(text or json.dumps(read))
    out, err = StringIO(), StringIO()
    paths = [str(folder / "order.json"), str(folder / "readings.json")]
    try:
        call_command("verify_finished", *paths, *(more or ("--standard", "ansi-z80.1-2015")), stdout=out, stderr=err)
    except SystemExit as left:
        return int(left.code or 0), out.getvalue(), err.getvalue()
    return 0, out.getvalue(), err.getvalue()


@pytest.mark.parametrize(
    ("axis", "code", "verdict"), [(170.0, 0, "accept"), (173.0, 3, "measure_again"), (177.0, 1, "return")]
)
def test_the_exit_code_says_what_the_line_says(tmp_path: Path, axis: float, code: int, verdict: str) -> None:
    read = as_ordered(PAIR)
    read["right"]["axis"] = axis
    found, out, err = _run(tmp_path, read)
    said = json.loads(out)
    assert (found, said["verdict"], err) == (code, verdict, "")
    assert (said["format"], said["number"]) == ("finished-verdict/1", "T-00042")
    assert out.count("\n") == 1


def test_a_file_that_is_not_valid_gets_a_line_on_stderr_and_no_verdict(tmp_path: Path) -> None:
    code, out, err = _run(tmp_path, {}, text='{"format": "finished-readings/1", "right": {"sphare": 1}}')
    assert (code, out) == (2, "")
    assert err.count("\n") == 1
    assert "$.right.sphare: unknown key" in err


def test_a_standard_that_is_not_known_is_refused(tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="invalid choice"):
        _run(tmp_path, as_ordered(PAIR), "--standard", "house-rules")

"""Runs a slow step and says so on stderr: one line per step, with the seconds it took.

stdout stays clean, because a command behind it may print JSON there. What the step itself says is shown only
when it fails.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Mapping, Sequence

LINES_SHOWN_OF_A_FAILURE = 30


def say(text: str) -> None:
    print(text, file=sys.stderr, flush=True)


def run(title: str, command: Sequence[str], environ: Mapping[str, str] | None = None) -> None:
    """Runs one step; if it fails, ends the program with the step's own output."""
    result = attempt(title, command, environ)
    if result.returncode:
        say("\n".join(result.stdout.splitlines()[-LINES_SHOWN_OF_A_FAILURE:]))
        sys.exit(f"This step failed: {title}. Its command was: {' '.join(command)}")


def attempt(
    title: str, command: Sequence[str], environ: Mapping[str, str] | None = None
) -> subprocess.CompletedProcess[str]:
    """Runs one step and leaves it to the caller to decide what a failure means."""
    start = time.monotonic()
    print(f"{title} …", end="", file=sys.stderr, flush=True)
    result = subprocess.run(  # noqa: S603 - the commands are ours, built as lists
        command,
        env={**os.environ, **(environ or {})},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        errors="replace",
    )
    outcome = "failed after" if result.returncode else "done in"
    say(f" {outcome} {time.monotonic() - start:.1f} s")
    return result

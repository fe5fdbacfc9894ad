"""A project that is all bootstrap and no Django: its lock is empty, so that setting it up costs no download."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
SAYS_WHERE_IT_RUNS = """
import sys
from dispensing.bootstrap.entry import prepare
prepare(sys.argv)
print(sys.prefix)
"""


class SmallProject:
    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.venv = folder / ".venv"
        package = folder / "dispensing"
        package.mkdir(parents=True)
        (package / "__init__.py").touch()
        shutil.copytree(ROOT / "dispensing" / "bootstrap", package / "bootstrap")
        (folder / "manage.py").write_text(SAYS_WHERE_IT_RUNS)
        self.write_lock("# Nothing to install\n")

    def write_lock(self, text: str) -> None:
        (self.folder / "requirements.txt").write_text(text)

    def run(self, *arguments: str, **environ: str) -> subprocess.CompletedProcess[str]:
        """Calls its manage.py with the Python that ours was made from, as a newcomer would."""
        clean = {name: os.environ[name] for name in ("PATH", "HOME", "LANG") if name in os.environ}
        return subprocess.run(
            [getattr(sys, "_base_executable", sys.executable), "manage.py", *arguments],
            cwd=self.folder,
            env={**clean, **environ},
            capture_output=True,
            text=True,
        )

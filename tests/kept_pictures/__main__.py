"""``python -m tests.kept_pictures``: draw all of them again. Look at each that has changed before it is committed."""

from __future__ import annotations

import os

import django


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
    django.setup()
    from tests.kept_pictures.pictures import FOLDER, PICTURES  # needs the settings: the orders are those of the shop

    for old in FOLDER.glob("*.svg"):
        old.unlink()
    for name, draw in PICTURES.items():
        (FOLDER / f"{name}.svg").write_text(draw().replace("><", ">\n<") + "\n")
    print(f"{len(PICTURES)} pictures in {FOLDER}")


if __name__ == "__main__":
    main()

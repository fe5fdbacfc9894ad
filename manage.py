#!/usr/bin/env python3
"""The one way in: ``python3 manage.py COMMAND``.

Needs nothing but Python 3.11 until ``.venv`` exists: `dispensing.bootstrap` makes it, then this file runs
again inside it. It must stay cheap (``check_order`` is run many times a day) and parseable by an older Python,
so that the reader of a too old machine gets a sentence and not a syntax error.
"""

import os
import sys

# These read files and print: they need none of the installed apps, whose loading would be most of the waiting.
FILE_COMMANDS = {
    "check_order": "orders",
    "compare_frames": "orders",
    "compare_lenses": "orders",
    "measure_fitting": "dispensing",
    "propose_marks": "dispensing",
    "read_order": "orders",
    "read_prescription": "dispensing",
    "schemas": "orders",
    "verify_finished": "orders",
}


def main() -> None:
    if sys.version_info < (3, 11):  # noqa: UP036 - the very case of a reader with an older one
        sys.exit(f"Datumline needs Python 3.11 or newer; this is {sys.version.split()[0]}. Install a newer one.")
    from dispensing.bootstrap.entry import prepare

    prepare(sys.argv)
    if sys.argv[1:2] == ["test"]:
        from tests.run import main as run_tests

        sys.exit(run_tests(sys.argv[2:]))
    run_command()


def run_command() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "dispensing.settings")
    try:
        from django.core.exceptions import ImproperlyConfigured
    except ModuleNotFoundError:
        from dispensing.bootstrap.entry import without_django

        sys.exit(without_django())
    from django.core.management import execute_from_command_line, load_command_class

    from dispensing.private import keep_private

    keep_private()
    command = sys.argv[1] if len(sys.argv) > 1 else "help"
    try:
        if command in FILE_COMMANDS:
            write_like_other_tools()
            load_command_class(FILE_COMMANDS[command], command).run_from_argv(sys.argv)
        else:
            execute_from_command_line(sys.argv)
    except ImproperlyConfigured as fault:
        sys.exit(f"Settings: {fault}")
    except Exception as fault:
        from dispensing.outages import outage_of

        outage = outage_of(fault)
        if outage is None or outage.status == 404 or "--traceback" in sys.argv:
            raise
        sys.exit(f"{command}: {outage.line}")


def write_like_other_tools() -> None:
    """JSON is UTF-8 whatever the terminal speaks, and a reader that has seen enough (``| head``) ends the command."""
    import io
    import signal

    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(encoding="utf-8")
    if hasattr(signal, "SIGPIPE"):
        signal.signal(signal.SIGPIPE, signal.SIG_DFL)


if __name__ == "__main__":
    try:
        main()
    except KeyboardInterrupt:
        sys.exit(130)

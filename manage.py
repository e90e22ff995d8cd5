#!/usr/bin/env python3
"""Fieldleaf's command line. Every command sets itself up on a bare machine."""

import os
import sys
from importlib.util import find_spec

from survey import bootstrap, checks


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "survey.settings")
    command, arguments = sys.argv[1:2], sys.argv[2:]
    if command == ["demo"]:
        # The invented museum keeps to a folder of its own, away from real records.
        os.environ.setdefault("FIELDLEAF_DATA", str(bootstrap.ROOT / "data" / "demo"))
        bootstrap.enter(bootstrap.RUN_LOCK)
        bootstrap.ensure_pango(is_needed=False)
    if command == ["test"]:
        bootstrap.enter(bootstrap.TESTS_LOCK)
        bootstrap.ensure_chromium()
        bootstrap.ensure_postgresql()
        bootstrap.ensure_pango(is_needed=True)
        bootstrap.ensure_webkit()
        bootstrap.ensure_node_packages()
        sys.exit(checks.run(arguments))
    if find_spec("django") is None:
        bootstrap.enter(bootstrap.RUN_LOCK)

    from django.core.management import execute_from_command_line

    # Django's commands are modules, and no module has a hyphen in its name.
    if command and not command[0].startswith("-"):
        sys.argv[1] = command[0].replace("-", "_")
    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()

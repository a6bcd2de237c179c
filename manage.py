#!/usr/bin/env python3
"""Run a Stayward command; the first run makes the environment it needs in .venv.

This file stays readable to old Pythons, so that they get a sentence and not a syntax error.
"""

import os
import sys

OLDEST_PYTHON = (3, 11)


def main():
    if sys.version_info[:2] < OLDEST_PYTHON:
        sys.exit(
            "Stayward needs Python %s or newer; this is %s. Try: python3.11 manage.py"
            % (".".join(map(str, OLDEST_PYTHON)), sys.version.split()[0])
        )
    from fleet import bootstrap

    bootstrap.enter(sys.argv[1:])
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "fleet.project.settings")
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()

#!/usr/bin/env python
"""Lifted Boards' command line: start, week, token, and Django's own commands."""

import os
import sys


def main() -> None:
    """Run a command; a database or disk that is not there is told in a sentence."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "renovation.settings")
    from django.core.management import execute_from_command_line
    from django.db import OperationalError

    try:
        execute_from_command_line(sys.argv)
    except (OperationalError, OSError) as exc:
        from renovation.full_disks import in_a_sentence

        sentence = in_a_sentence(exc)
        if sentence is None or "--traceback" in sys.argv:
            raise
        sys.exit(sentence)


if __name__ == "__main__":
    main()

#!/usr/bin/env python
"""Lifted Boards' command line: start, week, token, and Django's own commands."""

import os
import sys

if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "renovation.settings")
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)

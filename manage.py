#!/usr/bin/env python3
"""Run an administrative command: ``manage.py help`` lists them."""

from __future__ import annotations

import os
import sys

from django.core.management import execute_from_command_line

from fleet.wall import is_the_registers_own_process


def main() -> None:
    """Run the command named on the command line."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    is_the_registers_own_process()
    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()

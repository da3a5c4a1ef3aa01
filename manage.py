#!/usr/bin/env python3
"""Run an administrative command: ``manage.py help`` lists them."""

from __future__ import annotations

import os
import sys

from django.core.management import execute_from_command_line


def main() -> None:
    """Run the command named on the command line."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    try:
        execute_from_command_line(sys.argv)
        sys.stdout.flush()
    except BrokenPipeError:
        # Whoever read the output, `head` say, has seen enough. Python would complain
        # once more when it empties the stream at its end.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(141)  # as a shell counts a program that SIGPIPE ended


if __name__ == "__main__":
    main()

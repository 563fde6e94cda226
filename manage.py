#!/usr/bin/env python3
"""Everything a developer or a grower starts: start, test, and Django's commands.

Needs nothing but Python; what else it needs it fetches on first use (tubertrack/config/setup).
"""

import os
import sys


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tubertrack.config.settings")
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()

#!/usr/bin/env python3
"""Start, test and everything else: python3 manage.py start, python3 manage.py test.

Needs nothing but Python; the rest it fetches on first use (tubertrack/config/setup).
"""

import sys

if __name__ == "__main__":
    if sys.version_info < (3, 11):  # noqa: UP036  an older Python would stop with a riddle
        sys.exit(
            "Winter Tally needs Python 3.11 or newer. Install one from python.org or your system,"
            " then run this command with it."
        )
    from tubertrack.config.setup.commands import main

    sys.exit(main(sys.argv[1:]))

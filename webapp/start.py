"""Where the ``fallbook`` command begins: so early that Ctrl-C never shows a traceback."""

import sys


def fallbook() -> None:
    """Run the command line."""
    try:
        from .cli import main

        main()
    except KeyboardInterrupt:
        sys.stderr.write("fallbook: Stopped before it was done. [interrupted]\n")
        sys.exit(130)

"""``python -m jiggen``: the same as the ``jiggen`` command."""

import sys

from jiggen.cli import run

if __name__ == "__main__":
    sys.exit(run())

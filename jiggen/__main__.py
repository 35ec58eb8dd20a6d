"""The ``jiggen`` command, also as ``python -m jiggen``: it ends in one line whenever it is stopped.

Most of a short run is the loading of libraries, so the signals are taken before any of them. What
must not be cut in two, `write.files` keeps together: it holds signals back until files are whole.
"""

import gc
import os
import sys

STOPPED = b"jiggen: stopped; every file is whole, either as it was or as it should be\n"
#: New objects between two collections; a page that is served for hours is still swept.
FEW_COLLECTIONS = 100_000


def run() -> int:
    """Run the command line of this process; return the exit status.

    SIGINT (Ctrl-C) ends it with status 130 and SIGTERM with 143, as a shell counts them.
    """
    try:
        from signal import SIG_IGN, SIGINT, SIGTERM, getsignal, signal

        # A job in the background leaves Ctrl-C to others.
        heard = [number for number in (SIGINT, SIGTERM) if getsignal(number) != SIG_IGN]
        for number in heard:
            signal(number, _stop)
    except KeyboardInterrupt:
        _stop(2)
    from jiggen.cli import run as run_words

    # A run lives for a second and leaves little to collect; looking for it took a tenth of it.
    gc.set_threshold(FEW_COLLECTIONS)
    status = run_words()
    for number in heard:
        signal(number, SIG_IGN)  # all is done and said
    gc.freeze()  # and the memory goes back whole: what is left in it need not be sorted first
    return status


def _stop(number: int, _frame: object = None) -> None:
    """End the process at once: an exception, raised just anywhere, may be lost or be printed."""
    try:
        os.write(2, b"\n" * os.isatty(2) + STOPPED)
    finally:
        os._exit(128 + number)


if __name__ == "__main__":
    sys.exit(run())

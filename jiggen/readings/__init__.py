"""The readings file: what to measure, with its nominal values, and blanks for what was measured.

It lies beside the drawings. A blank (``measured = ""``) means that nobody measured this; empty
text is an error in a job file, but here it is the form's own blank. Bare numbers count in the
file's `units`; text carries its own unit, so that one inch reading among millimetres is no trap.

``make`` writes the blank form and judges nothing, so what reads and judges is loaded when it is
first asked for.
"""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from jiggen.readings.form import readings_template
    from jiggen.readings.names import print_mark
    from jiggen.readings.read import Readings, read_readings, read_readings_text
    from jiggen.readings.trial import HoleReadings
else:
    _NAMES_AT = {
        "form": ("readings_template",),
        "names": ("print_mark",),
        "read": ("Readings", "read_readings", "read_readings_text"),
        "trial": ("HoleReadings",),
    }

    def __getattr__(name: str) -> object:
        for module, names in _NAMES_AT.items():
            if name in names:
                return getattr(import_module(f"{__name__}.{module}"), name)
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


__all__ = [
    "HoleReadings",
    "Readings",
    "print_mark",
    "read_readings",
    "read_readings_text",
    "readings_template",
]

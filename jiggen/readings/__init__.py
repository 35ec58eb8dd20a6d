"""The readings file: what to measure, with its nominal values, and blanks for what was measured.

It lies beside the drawings. A blank (``measured = ""``) means that nobody measured this; empty
text is an error in a job file, but here it is the form's own blank. Bare numbers count in the
file's `units`; text carries its own unit, so that one inch reading among millimetres is no trap.
"""

from jiggen.readings.form import print_mark, readings_template
from jiggen.readings.read import Readings, read_readings, read_readings_text
from jiggen.readings.trial import HoleReadings

__all__ = [
    "HoleReadings",
    "Readings",
    "print_mark",
    "read_readings",
    "read_readings_text",
    "readings_template",
]

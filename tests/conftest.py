"""Makes the shared helpers of the tests importable by name, and lets no test fail by its time."""

import sys
from pathlib import Path

from hypothesis import settings

sys.path.insert(0, str(Path(__file__).parent))

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")

"""Makes the shared helpers of the tests importable by name, and settles how tests are tried.

Random tests try the same examples on every machine, so that what passed here passes there. To look
for new ones, set JIGGEN_EXAMPLES=new; what is found becomes an ``@example`` of its test.
"""

import os
import sys
from pathlib import Path

from hypothesis import settings

sys.path.insert(0, str(Path(__file__).parent))

# Commands that tests run in processes of their own find the package compiled.
sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

# No test fails by its time.
settings.register_profile("same", deadline=None, derandomize=True)
settings.register_profile("new", deadline=None, print_blob=True)
settings.load_profile(os.environ.get("JIGGEN_EXAMPLES", "same"))

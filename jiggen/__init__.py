"""Drill-angle jigs for riveted tapered edges: true 1:1 guides, blocks and proof of scale.

From job file to drawings; each name is loaded when it is first used::

    solution = jiggen.solve_job(jiggen.read_job("flap.toml"))
    made = jiggen.make_drawings(solution, formats=("pdf",))
    jiggen.replace_files("flap-jigs", made.files)
"""

# Nothing is loaded here, not even typing: until the command has taken the signals, a Ctrl-C shows.
TYPE_CHECKING = False
if TYPE_CHECKING:
    from jiggen.drawing.piece import Piece
    from jiggen.errors import Fault, JiggenError, JobError
    from jiggen.job.read import read_job, read_job_text
    from jiggen.job.sections import Job
    from jiggen.make import Made, make_drawings
    from jiggen.report.record import solution_as_json
    from jiggen.solution import Solution
    from jiggen.solve import solve as solve_job  # jiggen.solve is the module
    from jiggen.write.files import replace_files

__version__ = "0.1.0"

__all__ = [
    "Fault", "JiggenError", "Job", "JobError", "Made", "Piece", "Solution", "__version__",
    "make_drawings", "read_job", "read_job_text", "replace_files", "solution_as_json", "solve_job",
]  # fmt: skip

_NAMES_AT = {
    "jiggen.drawing.piece": ("Piece",),
    "jiggen.errors": ("Fault", "JiggenError", "JobError"),
    "jiggen.job.sections": ("Job",),
    "jiggen.job.read": ("read_job", "read_job_text"),
    "jiggen.make": ("Made", "make_drawings"),
    "jiggen.report.record": ("solution_as_json",),
    "jiggen.solution": ("Solution",),
    "jiggen.solve": ("solve_job",),
    "jiggen.write.files": ("replace_files",),
}


def __getattr__(name: str) -> object:
    """Load a public name from its home when it is first asked for."""
    from importlib import import_module

    for module, names in _NAMES_AT.items():
        if name in names:
            there = "solve" if name == "solve_job" else name
            return getattr(import_module(module), there)
    raise AttributeError(f"module 'jiggen' has no attribute {name!r}")

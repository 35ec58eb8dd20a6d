"""From what the user measured to a verdict: may this piece be drilled with?

`sheet` judges what lies on a printed or cut sheet from its bars and diagonals, `piece` judges a
cut piece, a test hole and a kerf coupon from what a calliper reads on them; `records` holds what
comes in. Everything arrives as arguments: no file is read here.
"""

from jiggen.verify.piece import (
    FinishedPiece,
    judge_finished,
    judge_test_holes,
)
from jiggen.verify.records import (
    LengthReading,
    PlacedPiece,
    RecordedSheet,
    SheetReadings,
    recorded_sheets,
    sheet_of_record,
    sheet_readings,
)
from jiggen.verify.sheet import (
    DEFAULT_ALLOWED_ANGLE,
    DEFAULT_ALLOWED_LENGTH,
    PieceVerdict,
    SheetVerdict,
    Verdict,
    judge_sheet,
    judge_sheets,
    verdict_as_json,
)

__all__ = [
    "DEFAULT_ALLOWED_ANGLE",
    "DEFAULT_ALLOWED_LENGTH",
    "FinishedPiece",
    "LengthReading",
    "PieceVerdict",
    "PlacedPiece",
    "RecordedSheet",
    "SheetReadings",
    "SheetVerdict",
    "Verdict",
    "judge_finished",
    "judge_sheet",
    "judge_sheets",
    "judge_test_holes",
    "recorded_sheets",
    "sheet_of_record",
    "sheet_readings",
    "verdict_as_json",
]

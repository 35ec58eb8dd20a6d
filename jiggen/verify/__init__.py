"""From what the user measured to a verdict: may this piece be drilled with?

`sheet` judges what lies on a printed or cut sheet from its bars and diagonals, `piece` judges a
cut piece, `hole` a test hole and `coupon` a kerf coupon from what a calliper reads on them;
`records` holds what comes in. Everything arrives as arguments: no file is read here.

Each name is loaded when it is first asked for: ``make`` needs the records alone.
"""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from jiggen.verify.as_json import verdict_as_json
    from jiggen.verify.coupon import (
        CouponFound,
        CouponReadings,
        read_coupon,
    )
    from jiggen.verify.coupon_questions import questions_of_coupon
    from jiggen.verify.hole import TestHoleVerdict, judge_test_holes
    from jiggen.verify.limits import (
        CANNOT_TELL,
        DEFAULT_ALLOWED_ANGLE,
        DEFAULT_ALLOWED_LENGTH,
        DO_NOT_USE,
        USE,
    )
    from jiggen.verify.piece import (
        FinishedAngle,
        FinishedPiece,
        judge_finished,
    )
    from jiggen.verify.placed import PlacedAngle, PlacedLength, PlacedPiece, RecordedSheet
    from jiggen.verify.records import (
        LengthReading,
        SheetReadings,
        readings_of_options,
        recorded_sheets,
        sheet_of_record,
        sheet_readings,
    )
    from jiggen.verify.sheet import (
        PieceVerdict,
        SheetVerdict,
        Verdict,
        judge_sheet,
        judge_sheets,
    )
else:
    _NAMES_AT = {
        "as_json": ("verdict_as_json",),
        "coupon": (
            "CouponFound",
            "CouponReadings",
            "read_coupon",
        ),
        "coupon_questions": ("questions_of_coupon",),
        "hole": (
            "TestHoleVerdict",
            "judge_test_holes",
        ),
        "limits": (
            "CANNOT_TELL",
            "DEFAULT_ALLOWED_ANGLE",
            "DEFAULT_ALLOWED_LENGTH",
            "DO_NOT_USE",
            "USE",
        ),
        "piece": (
            "FinishedAngle",
            "FinishedPiece",
            "judge_finished",
        ),
        "placed": (
            "PlacedAngle",
            "PlacedLength",
            "PlacedPiece",
            "RecordedSheet",
        ),
        "records": (
            "LengthReading",
            "SheetReadings",
            "readings_of_options",
            "recorded_sheets",
            "sheet_of_record",
            "sheet_readings",
        ),
        "sheet": (
            "PieceVerdict",
            "SheetVerdict",
            "Verdict",
            "judge_sheet",
            "judge_sheets",
        ),
    }

    def __getattr__(name: str) -> object:
        for module, names in _NAMES_AT.items():
            if name in names:
                return getattr(import_module(f"{__name__}.{module}"), name)
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


__all__ = [
    "CANNOT_TELL",
    "DEFAULT_ALLOWED_ANGLE",
    "DEFAULT_ALLOWED_LENGTH",
    "DO_NOT_USE",
    "USE",
    "CouponFound",
    "CouponReadings",
    "FinishedAngle",
    "FinishedPiece",
    "LengthReading",
    "PieceVerdict",
    "PlacedAngle",
    "PlacedLength",
    "PlacedPiece",
    "RecordedSheet",
    "SheetReadings",
    "SheetVerdict",
    "TestHoleVerdict",
    "Verdict",
    "judge_finished",
    "judge_sheet",
    "judge_sheets",
    "judge_test_holes",
    "questions_of_coupon",
    "read_coupon",
    "readings_of_options",
    "recorded_sheets",
    "sheet_of_record",
    "sheet_readings",
    "verdict_as_json",
]

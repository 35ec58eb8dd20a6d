"""Reads what was tried before the work is drilled: the test holes and the kerf coupon."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from jiggen.job.fields import LENGTH, POSITIVE, Limits, Table, nearest, say_given
from jiggen.verify.coupon import CouponReadings
from jiggen.verify.placed import PlacedPiece, alike, drilled_with
from jiggen.verify.records import DEFAULT_STEP, LengthReading

STEP_MOST = 10.0
"""mm: no rule is coarser than this."""

_COUPON = ("fingers_x", "fingers_y", "slot", "step", "plus_minus")
_STEPS = Limits(above=0.0, at_most=STEP_MOST)


@dataclass(frozen=True, slots=True, kw_only=True)
class HoleReadings:
    """A test hole as measured.

    Attributes:
        piece: the guide or block that it was drilled with.
        thickness: of the scrap.
        entry: distances from the two edges on the near face, along x and y.
        exit: the same on the far face.
        thickness_has_unit: the thickness was written with its unit, so that it is no slip of it.
    """

    piece: str
    thickness: LengthReading
    entry: tuple[LengthReading, LengthReading]
    exit: tuple[LengthReading, LengthReading]
    thickness_has_unit: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """What was measured with: the step, or a stated plus-minus, mm."""

    step: float = DEFAULT_STEP
    plus_minus: float | None = None

    def refined(self, table: Table) -> Rule:
        """Return the rule after what a table says of it."""
        step = table.value(LENGTH, "step", _STEPS)
        stated = table.value(LENGTH, "plus_minus", _STEPS)
        if step is None and stated is None:
            return self
        return Rule(step=step or self.step, plus_minus=stated)

    def reading(self, name: str, measured: float) -> LengthReading:
        """Return one length measured with it."""
        return LengthReading(
            name=name, measured=measured, step=self.step, plus_minus=self.plus_minus
        )


def is_blank(given: object) -> bool:
    """Return whether a field of the form was left as it was printed."""
    return isinstance(given, str) and not given.strip()


def read_hole(table: Table, rule: Rule, drawn: Sequence[PlacedPiece] | None) -> HoleReadings | None:
    """Return one test hole; None where it is blank or at fault."""
    own = rule.refined(table)
    filled = [key for key in ("thickness", "entry", "exit") if not _all_blank(table.raw.get(key))]
    if not filled:
        return None
    before = len(table.found.faults)
    for key in ("thickness", "entry", "exit"):
        if key not in filled:
            table.fault(key, "is blank", "measure it too, or blank the whole test hole")
        elif split := _split_by_commas(table.raw[key]):
            table.fault(key, "has commas in its numbers", f"write decimal points: {key} = {split}")
    if len(table.found.faults) > before:
        return None
    thickness = table.value(LENGTH, "thickness", POSITIVE)
    entry, leave = table.pair(LENGTH, "entry"), table.pair(LENGTH, "exit")
    piece = _drilled_with(table, drawn)
    if thickness is None or entry is None or leave is None or piece is None:
        return None
    pair = _pair_of(own.reading)
    return HoleReadings(
        piece=piece,
        thickness=own.reading("thickness", thickness),
        entry=pair("entry", entry),
        exit=pair("exit", leave),
        thickness_has_unit=_has_unit(table.raw.get("thickness")),
    )


def _has_unit(given: object) -> bool:
    """Return whether a length was typed with a unit, mark or word."""
    return isinstance(given, str) and not given.strip()[-1:].isdecimal()


def _drilled_with(table: Table, drawn: Sequence[PlacedPiece] | None) -> str | None:
    """Return what a test hole was drilled with; None at fault.

    Without a piece nobody knows how the hole should lean; only without drawings it may be empty.
    """
    if is_blank(table.raw.get("piece", "")):
        if drawn is None:
            return ""
        every = [p for p in drawn if p.lean is not None and not p.again]
        names = list(dict.fromkeys(_short_name(p, drawn) for p in every))
        table.fault(
            "piece", "is blank, so nobody can tell how the hole should lean", _to_name(names)
        )
        return None
    piece = table.text("piece", 200)
    if piece is None or drawn is None:
        return piece
    meant = drilled_with(drawn, piece)
    if alike(meant):
        return piece if piece == meant[0].name else _short_name(meant[0], drawn)
    leading = [p for p in meant or drawn if p.lean is not None]
    names = list(dict.fromkeys(_short_name(p, drawn) for p in leading))
    if meant:
        table.fault("piece", "may be more than one piece", f"write {' or '.join(names)}")
    elif any(p.name == piece for p in drawn):
        problem = "has no angle to drill at, so a test hole says nothing of it"
        table.fault("piece", problem, _to_name(names))
    else:
        near = f"nearest is {say_given(nearest(piece, names))}" if names else ""
        table.fault("piece", "is not on the drawings", near)
    return None


def _to_name(names: Sequence[str]) -> str:
    return f"name what the hole was drilled with: {' or '.join(names)}" if names else ""


def _short_name(piece: PlacedPiece, drawn: Sequence[PlacedPiece]) -> str:
    """Return a block's name without that of its layer; the whole name of any other piece."""
    parts = piece.name.split("-")
    for end in range(2, len(parts)):
        stem = "-".join(parts[:end])
        if alike(drilled_with(drawn, stem)):
            return stem
    return piece.name


def _split_by_commas(given: object) -> str:
    """Return two distances as they were meant, where each comma made two numbers of one."""
    if not isinstance(given, list) or len(given) != 4:
        return ""
    if not all(type(item) is int and item >= 0 for item in given):
        return ""
    return "[{}.{}, {}.{}]".format(*given)


def _all_blank(given: object) -> bool:
    if isinstance(given, list):
        return all(is_blank(item) for item in given)
    return given is None or is_blank(given)


def _pair_of(
    reading: Callable[[str, float], LengthReading],
) -> Callable[[str, tuple[float, float]], tuple[LengthReading, LengthReading]]:
    return lambda name, two: (reading(f"{name} x", two[0]), reading(f"{name} y", two[1]))


def read_coupon_table(top: Table, rule: Rule) -> CouponReadings | None:
    """Return the readings of the kerf coupon; None where it is blank or at fault."""
    given = top.raw.get("coupon")
    if isinstance(given, dict):
        given = {k: v for k, v in given.items() if not is_blank(v)}
    table = Table({} if given is None else {"coupon": given}, "", top.found, top.units, ("coupon",))
    inner = table.table("coupon", _COUPON)
    if inner is None:
        return None
    own = rule.refined(inner)
    rows = {}
    for axis in ("x", "y"):
        over = inner.value(LENGTH, f"fingers_{axis}", POSITIVE)
        rows[axis] = None if over is None else own.reading(f"fingers-{axis}", over)
    slot = _slot(inner)
    if rows["x"] is None and rows["y"] is None and slot is None:
        return None
    return CouponReadings(fingers_x=rows["x"], fingers_y=rows["y"], slot=slot)


def _slot(table: Table) -> float | None:
    """Return the slot's lettering: always mm, as it stands on the coupon, whatever the units."""
    given = table.raw.get("slot")
    lettered = {} if given is None else {"slot": given}
    return Table(lettered, table.path, table.found, "mm", ("slot",)).value(LENGTH, "slot", POSITIVE)

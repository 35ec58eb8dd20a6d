"""The rivet as the job states it, and the reader of its section; mm and radians.

A rivet is known by the size on its bag, or by the numbers that a calliper reads: diameter and head.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from jiggen.facts.rivets import (
    FLUSH_RIVETS,
    INCH_FLUSH_ANGLE,
    METRIC_FLUSH,
    METRIC_FLUSH_ANGLE,
    METRIC_ROUND,
    UNIVERSAL_RIVETS,
)
from jiggen.job.fields import Table, given_or
from jiggen.job.quantities import ANGLE, LENGTH, NUMBER, Limits
from jiggen.units import say_length

HEAD_MOST = 50.0
"""No rivet head is wider than this, mm."""

ALLOWANCE_MOST = 4.0
"""A shank that stands out further than this, in diameters, bends instead of being set."""

HEAD_ANGLES = Limits(at_least=math.radians(60.0), at_most=math.radians(130.0))

SIZES = (*FLUSH_RIVETS, *METRIC_FLUSH)
_KEYS = (
    *("head", "size", "diameter", "form", "angle", "shop_head", "skins", "allowance"),
    *("half_sizes", "rounding"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class RivetInput:
    """The rivet.

    Attributes:
        size: as it is called, ``-3`` or ``3 mm``; empty where the job gives the numbers.
        bag_length: over all, as the name on the bag has it, mm, or None.
        diameter: nominal diameter of the shank, mm, or None.
        head: diameter of the head, mm, or None.
        form: ``flush`` for a countersunk head, ``protruding`` for a universal or round one.
        angle: included angle of a flush head, radians.
        shop_head: ``bucked`` or ``flush``; empty where the job does not say.
        skins: ``dimpled`` or ``countersunk``: how a flush head is let in.
        allowance: what stands out before the shop head is set, in diameters; None for the
            published one.
        half_sizes: whether half sizes, 1/32 in longer, can be had.
        rounding: ``up`` to the next standard length, or to the ``nearest``.
    """

    size: str = ""
    bag_length: float | None = None
    diameter: float | None = None
    head: float | None = None
    form: str = "flush"
    angle: float = math.radians(INCH_FLUSH_ANGLE)
    shop_head: str = ""
    skins: str = "dimpled"
    allowance: float | None = None
    half_sizes: bool = False
    rounding: str = "up"


def read_rivet(job: Table) -> RivetInput | None:
    """Read the rivet; None where the job has no such section.

    Args:
        job: the whole job file.

    Returns:
        The rivet, in mm and radians.
    """
    table = job.table("rivet", _KEYS)
    if table is None:
        return None
    head = table.value(LENGTH, "head", Limits(above=0.0, at_most=HEAD_MOST))
    diameter = table.value(LENGTH, "diameter", Limits(above=0.0, at_most=HEAD_MOST))
    for key in ("head", "diameter"):
        if table.has(key) and table.has("size"):
            table.fault("size", f"is given besides {key}", "keep one of them")
    if head is not None and diameter is not None and head <= diameter:
        said = say_length(diameter, table.units)
        table.fault("head", f"is no wider than the shank ({said})", "give the diameter of the head")
    usual = RivetInput()
    size = given_or(table.choice("size", SIZES), "")
    form = given_or(table.choice("form", ("flush", "protruding")), usual.form)
    if size and not table.has("head") and not table.has("diameter"):
        diameter, head = _of_size(size, form)
    of_size = METRIC_FLUSH_ANGLE if size in METRIC_FLUSH else INCH_FLUSH_ANGLE
    return RivetInput(
        size=size,
        diameter=diameter,
        head=head,
        form=form,
        angle=given_or(table.value(ANGLE, "angle", HEAD_ANGLES), math.radians(of_size)),
        shop_head=given_or(table.choice("shop_head", ("bucked", "flush")), usual.shop_head),
        skins=given_or(table.choice("skins", ("dimpled", "countersunk")), usual.skins),
        allowance=table.value(NUMBER, "allowance", Limits(above=0.0, at_most=ALLOWANCE_MOST)),
        half_sizes=given_or(table.flag("half_sizes"), usual.half_sizes),
        rounding=given_or(table.choice("rounding", ("up", "nearest")), usual.rounding),
    )


def _of_size(size: str, form: str) -> tuple[float, float | None]:
    """Return diameter and head of a size; no head where the table of that form lacks the size."""
    if size in FLUSH_RIVETS:
        flush = FLUSH_RIVETS[size]
        if form == "flush":
            return flush.diameter, flush.head
        universal = UNIVERSAL_RIVETS.get(size)
        return flush.diameter, None if universal is None else universal.head
    metric = METRIC_FLUSH[size]
    if form == "flush":
        return metric.diameter, metric.head
    rounded = METRIC_ROUND.get(size)
    return metric.diameter, None if rounded is None else rounded.head

"""The rivet's section of a job file."""

import math
from pathlib import Path

import pytest

from jiggen.errors import JobError
from jiggen.job.read import read_job_text
from jiggen.job.sections import Job, Rivet

INCH = 25.4
HEAD = 'format = 1\nname = "x"\nunits = "mm"\n[[wedge.station]]\nincluded_angle = 11\n'


def read(section: str, head: str = HEAD) -> Job:
    return read_job_text(f"{head}[rivet]\n{section}\n", "job.toml", Path())


def the_rivet(section: str) -> Rivet:
    rivet = read(section).rivet
    assert rivet is not None
    return rivet


def test_a_job_without_the_section_has_no_rivet():
    """Nothing may be told of a rivet that nobody named."""
    job = read_job_text(HEAD, "job.toml", Path())
    assert job.rivet is None


@pytest.mark.parametrize(
    ("section", "diameter", "head", "degrees"),
    [
        ('size = "-3"', 3 / 32 * INCH, 0.179 * INCH, 100),
        ('size = "-4"\nform = "protruding"', INCH / 8, 0.25 * INCH, 100),
        ('size = "-2"\nform = "protruding"', INCH / 16, None, 100),
        ('size = "3 mm"', 3.0, 5.2, 75),
        ('size = "3 mm"\nform = "protruding"', 3.0, 5.2, 75),
        ('size = "3.5 mm"\nform = "protruding"', 3.5, None, 75),
        ('size = "3 mm"\nangle = 90', 3.0, 5.2, 90),
        ("diameter = 2.4\nhead = 4.6\nangle = 120", 2.4, 4.6, 120),
        ("head = 4.5", None, 4.5, 100),
    ],
)
def test_a_rivet_is_known_by_its_size_or_by_its_numbers(section, diameter, head, degrees):
    """The wrong shank is the wrong length and the wrong drill."""
    rivet = the_rivet(section)
    assert rivet.diameter == pytest.approx(diameter)
    assert rivet.head == pytest.approx(head)
    assert rivet.angle == pytest.approx(math.radians(degrees))


def test_every_key_goes_into_its_own_field():
    """A key that is read into the wrong field orders the wrong rivets."""
    rivet = the_rivet(
        'diameter = "1/8 in"\nhead = 6\nform = "protruding"\nangle = 95\nshop_head = "flush"\n'
        'skins = "countersunk"\nallowance = 0.6\nhalf_sizes = true\nrounding = "nearest"'
    )
    assert rivet == Rivet(
        diameter=INCH / 8,
        head=6.0,
        form="protruding",
        angle=math.radians(95),
        shop_head="flush",
        skins="countersunk",
        allowance=0.6,
        half_sizes=True,
        rounding="nearest",
    )


@pytest.mark.parametrize(
    ("name", "size", "form", "sixteenths"),
    [
        ("MS20426AD3-5", "-3", "flush", 5),
        ("AN426AD3-4", "-3", "flush", 4),
        ("ms20426 ad3-5", "-3", "flush", 5),
        ("NASM20426AD4-3.5", "-4", "flush", 3.5),
        ("MS20470AD4-6", "-4", "protruding", 6),
        ("AN470AD4-6", "-4", "protruding", 6),
        ("AD3-5", "-3", "flush", 5),
        ("3-5", "-3", "flush", 5),
        ("3/32", "-3", "flush", None),
        ("3/32 in", "-3", "flush", None),
        ('1/8\\"', "-4", "flush", None),
        ("0.125 in", "-4", "flush", None),
        ("2.5 mm", "2.5 mm", "flush", None),
    ],
)
@pytest.mark.parametrize("units", ["mm", "in"])
def test_what_stands_on_the_bag_is_understood(name, size, form, sixteenths, units):
    """Told that the nearest is "-5", a builder takes 5/32 rivets for 3/32 ones.

    Source: first dash number the shank in 32nds, second the length in 16ths: FAA AC 43.13-1B para
    4-57a(4), READ; 426 countersunk, 470 universal: MS20426, MS20470 (from memory).
    """
    rivet = read(f'size = "{name}"', HEAD.replace('"mm"', f'"{units}"')).rivet
    assert rivet is not None
    assert (rivet.size, rivet.form) == (size, form)
    wide = {"-3": 3 / 32 * INCH, "-4": INCH / 8, "2.5 mm": 2.5}[size]
    assert rivet.diameter == pytest.approx(wide)
    told = None if sixteenths is None else pytest.approx(sixteenths / 16 * INCH)
    assert rivet.bag_length == told


def test_a_metric_name_tells_shank_and_length():
    """Source: DIN 661 and DIN 660 are called by shank x length in mm (from memory)."""
    flush, round_head = the_rivet('size = "DIN 661 3 x 8"'), the_rivet('size = "DIN 660 - 3x8"')
    assert (flush.size, flush.form, flush.bag_length) == ("3 mm", "flush", 8.0)
    assert (round_head.size, round_head.form) == ("3 mm", "protruding")


@pytest.mark.parametrize(
    ("section", "key", "said"),
    [
        ('size = "-3"\ndiameter = 2.4', "rivet.size", "besides diameter"),
        ('size = "-3"\nhead = 4', "rivet.size", "besides head"),
        ('size = "3"', "rivet.size", 'write "-3" or "3 mm"'),
        ("size = 3", "rivet.size", "must be text"),
        ('size = "-7"', "rivet.size", "is no rivet in the tables"),
        ('size = "MS20600AD4-2"', "rivet.size", "no solid rivet"),
        ('size = "AD7-5"', "rivet.size", "7/32 in, which no table has"),
        ('size = "XY3-5"', "rivet.size", "no alloy"),
        ('size = "MS20426AD3-5"\nform = "protruding"', "rivet.form", "on the bag (flush)"),
        ("diameter = 3\nhead = 2.9", "rivet.head", "no wider than the shank (3.00 mm)"),
        ("head = 4.5\nangle = 50", "rivet.angle", "at least 60.00 deg"),
        ("head = 4.5\nallowance = 5", "rivet.allowance", "at most 4"),
        ('head = 4.5\nallowance = "1.5 D"', "rivet.allowance", "not a plain number"),
        ('size = "-3"\nshop_head = "round"', "rivet.shop_head", '"bucked" or "flush"'),
        ('size = "-3"\nskins = "dimple"', "rivet.skins", 'the nearest is "dimpled"'),
        ('size = "-3"\nhalf_sizes = 1', "rivet.half_sizes", "true or false"),
    ],
)
def test_a_slip_is_named_with_its_key_and_what_would_do(section, key, said):
    """A rivet that is guessed at is a bag of the wrong ones."""
    with pytest.raises(JobError) as caught:
        read(section)
    (fault,) = caught.value.faults
    assert fault.key == key
    assert said in str(fault)

"""Changes values in the text of a TOML file, and nothing else: digits, comments and order stay.

tomlkit tells where each value stands; what is changed is the text itself::

    depth = 24.0        # from the trailing edge
            |--|          span of wedge.depth
    thickness = { front = 5.30, rear = 1.00 }
                          |--|                 span of wedge.station[1].thickness.front
                |---------------------------|  span of wedge.station[1].thickness

A key is written as faults name it: tables by dots, the n-th of a list by ``[n]``, from 1. A value
is the text that stands in the file, quotes and all. What is taken out stays as a comment,
``# was: ...``, and is put back there if the key gets a value again. After each change the text is
read anew: if anything but what was asked for differs, the change is refused.
"""

from __future__ import annotations

import re
import secrets
import tomllib
from collections import Counter
from collections.abc import Iterator, Mapping
from functools import lru_cache
from itertools import count, pairwise, takewhile
from typing import Any, NamedTuple

import tomlkit
import tomlkit.exceptions

from jiggen.errors import JiggenError

WAS = "# was: "
WITH = "  # was with "
"""Ends the line of what goes and comes with a way of measuring, before the name of the way."""

_BARE = re.compile(r"[A-Za-z0-9_-]+", re.ASCII)
_PART = re.compile(r'([A-Za-z0-9_-]+|"(?:[^"\\]|\\.)*")((?:\[\d+\])*)\.?', re.ASCII)
_NUMBER = re.compile(r"([+-]?)(\d*)(\.?)(\d*)((?:[eE][+-]?\d+)?)", re.ASCII)
_FRACTION = re.compile(r"(?:\d+[ -]+)?\d+ ?/ ?\d+", re.ASCII)
_LISTED = re.compile(r"^\[\[([\w.-]+)\]\]", re.ASCII | re.MULTILINE)
_HEADER = re.compile(r"[ \t]*(\[\[?)([^\[\]\n]+)\]\]?[ \t]*(?:#[^\n]*)?\r?\n?")


class CannotEdit(JiggenError, ValueError):
    """A change that fields cannot make in this file; it can be made in the text."""


class Span(NamedTuple):
    """Where a value stands in the text: from `start` up to `end`."""

    start: int
    end: int


class Block(NamedTuple):
    """A table with a heading of its own, or the top of the file, whose key is empty."""

    key: str  # wedge.station[2]
    start: int  # of its heading
    body: int  # after its heading's line
    end: int  # where the next heading's line begins


def is_toml(text: str) -> bool:
    """Return whether the text can be read at all."""
    try:
        tomllib.loads(text)
    except (ValueError, RecursionError):
        return False
    return True


@lru_cache(maxsize=128)
def spans(text: str) -> Mapping[str, Span]:
    """Return where each value stands, by key, in the order of the file.

    Args:
        text: TOML.

    Returns:
        Numbers, texts, dates and flags; whole lists and tables in braces, and what is in them.

    Raises:
        CannotEdit: it is not TOML, or not one whose values can be told apart.
    """
    try:
        return _spans(text)
    except CannotEdit:
        if len(cuts := [match.start() for match in _LISTED.finditer(text)]) < 3:
            raise
    # Lists of tables in turn (page, piece, page): tomlkit would put them in order.
    found, counts = dict[str, Span](), Counter[str]()
    for start, end in pairwise([*dict.fromkeys((0, *cuts)), len(text)]):
        head = _LISTED.match(part := text[start:end])
        name = head[1] if head else ""
        counts[name] += 1
        for key, (a, b) in _spans(part).items():
            is_its = bool(name) and key.startswith(f"{name}[1]")
            whole = f"{name}[{counts[name]}]{key[len(name) + 3 :]}" if is_its else key
            found[whole] = Span(start + a, start + b)
    if not {key for key, value in flat(text).items() if value not in ({}, [])} <= found.keys():
        raise CannotEdit("values of this file cannot be told apart")
    return found


def _spans(text: str) -> dict[str, Span]:
    values: dict[str, str] = {}
    token = f"jiggen{secrets.token_hex(6)}x"
    try:
        tree = tomlkit.parse(text)
        _mark(tree, "", token, values)
        marked = re.split(rf'"{token}(\d+)"', tomlkit.dumps(tree))
    except (tomlkit.exceptions.TOMLKitError, ValueError, RecursionError) as error:
        raise CannotEdit("the file is not TOML that can be read") from error
    found, keys, at = dict[str, Span](), list(values), len(marked[0])
    for number, literal in zip(marked[1::2], marked[2::2], strict=True):
        key = keys[int(number)]
        found[key] = Span(at, at + len(values[key]))
        at = found[key].end + len(literal)
    for key in [key for key in keys if key not in found]:  # a list or braces: round what it holds
        inside = [where for k, where in found.items() if k.startswith((f"{key}.", f"{key}["))]
        start = text.rfind(values[key], 0, min(inside).start + len(values[key]))
        found[key] = Span(start, start + len(values[key]))
    if at != len(text) or any(text[a:b] != values[key] for key, (a, b) in found.items()):
        raise CannotEdit("values of this file cannot be told apart")
    return dict(sorted(found.items(), key=lambda each: (each[1].start, -each[1].end)))


def _mark(table: Any, above: str, token: str, values: dict[str, str]) -> None:
    """Put down each value as it stands, and a token in the place of those that hold no others."""
    for name in list(table) if isinstance(table, dict) else range(len(table)):
        item = table[name]
        if isinstance(name, int):
            key = f"{above.removesuffix('.')}[{name + 1}]"
        else:
            key = f"{above}{name if _BARE.fullmatch(name) else tomlkit.string(name).as_string()}"
        is_inside = isinstance(item, tomlkit.items.Array | tomlkit.items.InlineTable)
        if is_inside or not isinstance(item, dict | list):
            values[key] = str(item).lower() if isinstance(item, bool) else item.as_string()
        if isinstance(item, dict | list) and (item or not is_inside):
            _mark(item, f"{key}.", token, values)
        elif not isinstance(item, dict | list) or is_inside:
            table[name] = f"{token}{len(values) - 1}"


def raw_at(text: str, key: str) -> str:
    """Return a value as it stands in the text; empty where the key has none."""
    where = spans(text).get(key)
    return "" if where is None else text[where.start : where.end]


def typed_at(text: str, key: str) -> str:
    """Return a value as a field shows it: a text without its quotes; empty where it has none.

    A list stands on one line, without the comments in it.
    """
    raw = raw_at(text, key)
    if raw.startswith("[") and "\n" in raw:
        items = takewhile(bool, (raw_at(text, f"{key}[{n}]") for n in count(1)))
        return f"[{', '.join(items)}]"
    return typed_of(raw)


def typed_of(raw: str) -> str:
    """Return a value of the file as a field shows it; see `raw_of`."""
    if raw[:1] in ('"', "'"):
        return str(tomllib.loads(f"x = {raw}")["x"])
    return raw


def was_at(text: str, key: str) -> str:
    """Return the value that a key had when it was taken out; empty where it never was."""
    table, name = _split(key)
    block = next((block for block in blocks(text) if block.key == table), None)
    old = None if block is None else _was(text, name, block.body, block.end)
    return "" if old is None else raw_at(_uncommented(text[old.start : old.end]).lstrip(), name)


def change_was(text: str, key: str, raw: str) -> str:
    """Change the value that a key had when it was taken out.

    Args:
        text: TOML.
        key: one that `was_at` finds.
        raw: the value, as it shall stand if it comes back.
    """
    table, name = _split(key)
    block = next(block for block in blocks(text) if block.key == table)
    old = _was(text, name, block.body, block.end)
    assert old is not None, key
    return text[: old.start] + WAS + _revalued(text, old, name, raw) + text[old.end :]


def items_of(raw: str) -> list[str]:
    """Return the items of a list, as they stand; nothing where there is no list."""
    text = f"x = {raw or '[]'}"
    return list(takewhile(bool, (raw_at(text, f"x[{n}]") for n in count(1))))


def raw_of(typed: str, kind: str, units: str = "mm") -> str:
    """Return what is typed in a field as it stands in the file.

    Args:
        typed: digits stay as they are. A bare fraction gets the unit; a number with anything more
            to it becomes a text, a decimal comma too: reading it tells what is wrong.
        kind: ``number`` (or a length, with or without its unit), ``text``, ``flag``, ``list`` of
            numbers, ``one or list``, or ``numbers``, a list of whole ones.
        units: ``mm`` or ``in``.

    Returns:
        A TOML value; empty where nothing is typed.
    """
    typed = " ".join(typed.split()) if kind != "text" else typed.strip()
    if not typed:
        return ""
    if kind == "text":
        return _quoted(typed)
    if kind == "flag" and typed in ("true", "false"):
        return typed
    if kind == "one or list":
        kind = "list" if re.search(r"[\[;]|,\s", typed) else "number"
    if kind in ("list", "numbers"):
        inside = typed.removeprefix("[").removesuffix("]").strip()
        parted = r"[\s,;]+" if kind == "numbers" else r",\s+|;\s*"
        items = [item for item in re.split(parted, inside) if item]
        return f"[{', '.join(_number(item, units) for item in items)}]"
    return _number(typed, units)


def _number(typed: str, units: str) -> str:
    match = _NUMBER.fullmatch(typed)
    if match and (match[2] or match[4]):
        sign, whole, point, part, power = match.groups()
        whole = whole if point or power else whole.lstrip("0") or "0"
        if point:
            part = part or "0"
        if not (len(whole) > 1 and whole[0] == "0"):
            return f"{sign}{whole or '0'}{point}{part}{power}"
    if _FRACTION.fullmatch(typed):
        return _quoted(f"{typed} {units}")
    return _quoted(typed)


def _quoted(text: str) -> str:
    plain = "".join(c if c.isprintable() else " " for c in text)
    return '"' + plain.replace("\\", "\\\\").replace('"', '\\"') + '"'


def change(text: str, changes: Mapping[str, str]) -> str:
    """Change some values of a text.

    Args:
        text: TOML.
        changes: by key the value as it shall stand; empty to take it out. The whole of a list or
            of a table in braces may be given. A key that has no value yet comes after the last one
            of its table; a table that is not there yet at the end of the file.

    Returns:
        The text with these changes only.

    Raises:
        CannotEdit: it cannot be done, or would change something else.
    """
    known = spans(text)
    wanted = {k: raw for k, raw in changes.items() if raw != raw_at(text, k)}
    there = sorted((k for k in wanted if wanted[k] and k in known), key=lambda k: -known[k].start)
    new = text
    for key in there:
        new = new[: known[key].start] + wanted[key] + new[known[key].end :]
    for key in wanted:
        if not wanted[key]:
            new = _taken_out(new, key)
    for key, raw in wanted.items():
        if raw and key not in known:
            new = _put(new, key, raw)
    _check(text, new, wanted)
    return new


def exchange_ways(text: str, old: str, new: str, raw: str, others: tuple[str, ...] = ()) -> str:
    """Put another way of measuring in the place of one; the old one stays as a comment.

    What went with the new way when it was left comes back with it.

    Args:
        text: TOML.
        old: the key that goes, e.g. ``wedge.station[1].thickness``.
        new: the key that comes, in the same table.
        raw: its value.
        others: further keys that go, such as a plus-minus with the old one's names.
    """
    where, name = spans(text).get(old), _split(new)[1]
    if where is None:
        raise CannotEdit(f"{old} has a heading of its own; change it in the text")
    start, end = _lines(text, where)
    changed, table = text, next(b for b in blocks(text) if b.body <= start < b.end)
    if not _was(text, name, table.body, table.end):
        indent = re.match(r"[ \t]*", text[start:end])
        line = f"{indent[0] if indent else ''}{name} = {raw}{_newline(text)}"
        head = text[:end] if text[:end].endswith("\n") else text[:end] + _newline(text)
        changed = head + line + text[end:]
    changed = _taken_out(changed, old)
    for key in others:
        changed = _taken_out(changed, key, f"{WITH}{_split(old)[1]}")
    if new not in spans(changed):
        changed = _put(changed, new, raw)
    wanted = {old: "", new: raw, **dict.fromkeys(others, "")}
    table = next(b for b in blocks(changed) if b.key == table.key)
    left = re.compile(rf"^{WAS}([^\r\n]*){WITH}{re.escape(name)}[ \t]*(?=\r?$)", re.MULTILINE)
    for match in reversed(list(left.finditer(changed, table.body, table.end))):
        it = next(iter(spans(match[1])), "") if is_toml(match[1]) else ""
        if it and f"{table.key}.{it}" not in spans(changed):
            wanted[f"{table.key}.{it}"] = raw_at(match[1], it)
            changed = changed[: match.start()] + match[1] + changed[match.end() :]
    _check(text, changed, wanted)
    return changed


def add_table(text: str, key: str, values: Mapping[str, str]) -> str:
    """Add a table with a heading of its own, an empty line above it.

    Args:
        text: TOML.
        key: ``gauge``, or ``wedge.station[3]`` for the next of a list, which comes after the last.
        values: by name, as they shall stand.

    Returns:
        The text with it. ``# [gauge]``, as a line of its own, is taken for its place.
    """
    end, item = _newline(text), re.fullmatch(r"(.*)\[(\d+)\]", key)
    heading = f"[[{item[1]}]]" if item else f"[{key}]"
    rows = "".join(f"{name} = {raw}{end}" for name, raw in values.items())
    wanted = {f"{key}.{name}": raw for name, raw in values.items()}
    asked = re.compile(rf"^#[ \t]*{re.escape(heading)}[ \t]*(?=\r?$)", re.MULTILINE)
    places = [m for m in asked.finditer(text)] if not item else []
    before = f"{item[1]}[{int(item[2]) - 1}]" if item else ""
    tries = [text[: m.start()] + heading + text[m.end() :] for m in places if not values]
    if before:
        mine = [b for b in blocks(text) if b.key == before or b.key.startswith(f"{before}.")]
        at = max((_last_line(text, block) for block in mine), default=len(text))
    else:
        at = len(text.rstrip("\r\n"))
        at = text.find("\n", at) + 1 or len(text)
    head = text[:at] + ("" if text[:at].endswith("\n") or not at else end)
    tries.append(f"{head}{end if head else ''}{heading}{end}{rows}{text[at:]}")
    for new in tries:
        try:
            _check(text, new, {**wanted, **({} if wanted else {key: "{}"})})
        except CannotEdit:
            continue
        return new
    raise CannotEdit(f"{key} cannot be added; add it in the text")


def drop_table(text: str, key: str) -> str:
    """Take out a table with its heading; its lines stay as comments.

    Args:
        text: TOML.
        key: ``gauge``, or ``wedge.station[2]``.
    """
    mine = [b for b in blocks(text) if b.key == key or b.key.startswith((f"{key}.", f"{key}["))]
    if not mine:
        raise CannotEdit(f"{key} has no heading of its own; take it out in the text")
    for block in reversed(mine):
        end = _last_line(text, block)
        text = text[: block.start] + _commented(text[block.start : end]) + text[end:]
    return text


def blocks(text: str) -> list[Block]:
    """Return the tables that have a heading, in the order of the file, the top of the file first.

    Raises:
        CannotEdit: as `spans`.
    """
    values = [where for where in spans(text).values()]
    found, counts = [Block("", 0, 0, len(text))], dict[str, int]()
    for match in re.finditer(_HEADER.pattern, text, re.MULTILINE):
        begins = match.start() == 0 or text[match.start() - 1] == "\n"
        if not begins or any(a <= match.start() < b for a, b in values):
            continue
        path = ""
        names = [part[1] for part in _PART.finditer(match[2].replace(" ", ""))]
        for n, name in enumerate(names):
            path = f"{path}.{name}" if path else name
            if match[1] == "[[" and n == len(names) - 1:
                counts[path] = counts.get(path, 0) + 1
            if path in counts:
                path = f"{path}[{counts[path]}]"
        found[-1] = found[-1]._replace(end=match.start())
        found.append(Block(path, match.start(), match.end(), len(text)))
    return found


def flat(text: str) -> dict[str, object]:
    """Return the values of a text by key; empty tables and lists by theirs."""
    return dict(_flat(tomllib.loads(text), ""))


def _flat(value: object, key: str) -> Iterator[tuple[str, object]]:
    if isinstance(value, dict) and value:
        for name, item in value.items():
            said = name if _BARE.fullmatch(name) else tomlkit.string(name).as_string()
            yield from _flat(item, f"{key}.{said}" if key else said)
    elif isinstance(value, list) and value:
        for n, item in enumerate(value, start=1):
            yield from _flat(item, f"{key}[{n}]")
    elif key:
        yield key, value


def _check(old: str, new: str, wanted: Mapping[str, str]) -> None:
    """Refuse a change that did something else than what was asked for."""
    try:
        was, now = flat(old), flat(new)
        for key, raw in wanted.items():
            was = {k: v for k, v in was.items() if not _within(k, key)}
            if raw:
                was |= _flat(tomllib.loads(f"x = {raw}")["x"], key)
    except (ValueError, RecursionError) as error:
        raise CannotEdit("what is typed would leave a file that cannot be read") from error
    full = [{k: repr(v) for k, v in each.items() if v not in ({}, [])} for each in (was, now)]
    if full[0] != full[1]:
        odd = sorted(k for k in {*full[0], *full[1]} if full[0].get(k) != full[1].get(k))
        raise CannotEdit(f"{odd[0]} cannot be changed in a field here; change it in the text")


def _within(key: str, table: str) -> bool:
    return key == table or key.startswith((f"{table}.", f"{table}["))


def _split(key: str) -> tuple[str, str]:
    """Return a key's table and its name in it."""
    names = [match[0].removesuffix(".") for match in _PART.finditer(key)]
    return ".".join(names[:-1]), names[-1]


def _newline(text: str) -> str:
    first = text.partition("\n")[0]
    return "\r\n" if first.endswith("\r") else "\n"


def _lines(text: str, where: Span) -> tuple[int, int]:
    """Return the whole lines that a value stands on."""
    end = text.find("\n", where.end)
    return text.rfind("\n", 0, where.start) + 1, len(text) if end < 0 else end + 1


def _last_line(text: str, block: Block) -> int:
    """Return where the line of a block's last value ends; of its heading if it has none."""
    mine = [where for where in spans(text).values() if block.body <= where.start < block.end]
    return max((_lines(text, where)[1] for where in mine), default=block.body)


def _commented(lines: str) -> str:
    rows = lines.splitlines(keepends=True)
    return "".join(f"{WAS if not n else '#      '}{row}" for n, row in enumerate(rows))


def _uncommented(lines: str) -> str:
    return "".join(row[len(WAS) :] for row in lines.splitlines(keepends=True))


def _is_braced(text: str, key: str) -> bool:
    """Return whether a key is a table in braces."""
    return raw_at(text, key).startswith("{")


def _taken_out(text: str, key: str, ends: str = "") -> str:
    """Take a value out; its line stays as a comment, which so ends, where it said anything."""
    where = spans(text).get(key)
    if where is None:
        return text
    table = _split(key)[0]
    if _is_braced(text, table):
        inside = [k for k in spans(text) if _split(k)[0] == table]
        n = inside.index(key)
        if n:
            return text[: spans(text)[inside[n - 1]].end] + text[where.end :]
        if len(inside) == 1:
            return _taken_out(text, table)
        first = re.compile(r"\{\s*").match(text, spans(text)[table].start)
        after = re.compile(r"\s*,\s*").match(text, where.end)
        if first is None or after is None:
            raise CannotEdit(f"{key} cannot be taken out here; change it in the text")
        return text[: first.end()] + text[after.end() :]
    start, end = _lines(text, where)
    says = bool(typed_of(text[where.start : where.end]).strip('[]", '))
    line = text[start:end].rstrip("\r\n")
    line += ends + text[start + len(line) : end]
    return text[:start] + (_commented(line) if says else "") + text[end:]


def _put(text: str, key: str, raw: str) -> str:
    """Give a value to a key that has none."""
    table, name = _split(key)
    if name.endswith("]"):
        raise CannotEdit(f"{key} is not there; change the whole list")
    if _is_braced(text, table):
        whole, inside = spans(text)[table], [k for k in spans(text) if _split(k)[0] == table]
        if not inside:
            return f"{text[: whole.start]}{{ {name} = {raw} }}{text[whole.end :]}"
        at = spans(text)[inside[-1]].end
        return f"{text[:at]}, {name} = {raw}{text[at:]}"
    block = next((block for block in blocks(text) if block.key == table), None)
    if block is None and "." in table:
        return _put(text, table, f"{{ {name} = {raw} }}")
    if block is None:
        return add_table(text, table, {name: raw})
    if old := _was(text, name, block.body, block.end):
        return text[: old.start] + _revalued(text, old, name, raw) + text[old.end :]
    end, at = _newline(text), _last_line(text, block)
    start = text.rfind("\n", 0, max(at - 1, 0)) + 1
    indent = re.match(r"[ \t]*", text[start:at])
    head = text[:at] if not at or text[:at].endswith("\n") else text[:at] + end
    return f"{head}{indent[0] if indent else ''}{name} = {raw}{end}{text[at:]}"


def _revalued(text: str, old: Span, name: str, raw: str) -> str:
    """Return what a comment was before it was one, with another value."""
    line = _uncommented(text[old.start : old.end])
    value = spans(line)[name]
    return line[: value.start] + raw + line[value.end :]


def _was(text: str, name: str, start: int, end: int) -> Span | None:
    """Return the comment between two places that a value of this name left behind."""
    plain = re.escape(name)
    begins = re.compile(
        rf'^{WAS}[ \t]*(?:{plain}|"{plain}")[ \t]*=[^\r\n]*(?:\r?\n#      [^\r\n]*)*', re.MULTILINE
    )
    for match in begins.finditer(text, start, end):
        rows = match[0].splitlines(keepends=True)
        for n in range(len(rows)):
            some = "".join(rows[: n + 1]).rstrip("\r\n")
            if WITH not in some and is_toml(_uncommented(some)):
                return Span(match.start(), match.start() + len(some))
    return None

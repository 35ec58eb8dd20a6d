"""What a screen is: a file, the fields that change it, and what is shown of it.

A screen is a module-level record with four functions; `jiggen.page.answers` does the rest: drafts,
saving, undo, and what happens when the file was changed elsewhere.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from msgspec import Struct, field

from jiggen.page.fields import Mark
from jiggen.page.store import Kept, Store


class Shown(Struct, frozen=True, kw_only=True):
    """What a screen shows of a text.

    Attributes:
        fields: for the template of its fields.
        picture: of what is typed, HTML; where it is empty the last whole one stays, grey.
        ghost: what stands there where nothing was whole yet, HTML.
        later: the address of this screen with its picture, where that takes a while.
        numbers: for the template of its verdict or numbers.
        faults: what must be mended.
        missing: what is to be typed still.
        is_whole: nothing is missing and nothing wrong: the picture is kept as the last good one.
    """

    fields: Mapping[str, Any] = field(default_factory=dict)
    picture: str = ""
    ghost: str = ""
    later: str = ""
    numbers: Mapping[str, Any] = field(default_factory=dict)
    faults: tuple[Mark, ...] = ()
    missing: tuple[Mark, ...] = ()
    is_whole: bool = False


class Screen(Struct, frozen=True, kw_only=True):
    """One of the tabs.

    Attributes:
        name: of its path and of its templates, ``NAME.html`` and ``NAME-numbers.html``.
        label: on its tab.
        store: from the job file to the file that this screen edits; the job file itself for most.
        keys: the names that its form may hold, from the text as it stands.
        draft: the text as typed, from the text as it stands and the form.
        show: what is shown of a text; the path is that of the job file. Last comes what the
            form or the address says of the view alone, such as how many rows there are.
        has_text: the file's text can be typed too.
    """

    name: str
    label: str
    store: Callable[[Path], Store] = Store
    keys: Callable[[str, Mapping[str, str]], bool] = lambda text, form: not form
    draft: Callable[[str, Mapping[str, str]], str] = lambda text, form: text
    show: Callable[[Path, str, Kept, Mapping[str, str]], Shown]
    has_text: bool = True

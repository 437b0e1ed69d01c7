"""Typesets a sheet. What people wrote reaches the typesetter as data, never as markup."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import font_source_sans_pro
import orjson
import typst

HERE = Path(__file__).resolve().parent
# What the machine has is left alone: a sheet is the same everywhere. What this typeface has no letters for comes from
# those the typesetter brings along; what none of them has, an emoji, is set as an empty box.
# Each weight a file of its own: in an SVG the typesetter takes the lightest of a typeface whose weights are one file.
FACES = Path(font_source_sans_pro.__file__).resolve().parent / "files"
PAPERS = {"letter": "us-letter", "a4": "a4"}


def typeset(sheet: str, shown: Mapping[str, Any], paper: str) -> bytes:
    """The PDF of `sheet` (a template beside this file), by what it shows."""
    inputs = {"shown": orjson.dumps(shown).decode(), "paper": PAPERS[paper]}
    return typst.compile(HERE / f"{sheet}.typ", root=HERE, sys_inputs=inputs, format="pdf", font_paths=[FACES],
                         ignore_system_fonts=True)

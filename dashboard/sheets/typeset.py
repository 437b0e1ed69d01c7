"""Typesets a sheet. What people wrote reaches the typesetter as data, never as markup."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

import orjson
import typst

from dashboard.sheets.letters import FOLDERS, as_drawn

HERE = Path(__file__).resolve().parent
PAPERS = {"letter": "us-letter", "a4": "a4"}


def typeset(sheet: str, shown: Mapping[str, Any], paper: str) -> bytes:
    """The PDF of `sheet` (a template beside this file), by what it shows."""
    inputs = {"shown": orjson.dumps(as_drawn(shown)).decode(), "paper": PAPERS[paper]}
    return typst.compile(HERE / f"{sheet}.typ", root=HERE, sys_inputs=inputs, format="pdf", font_paths=_typefaces())


@cache
def _typefaces() -> typst.Fonts:
    """Those of the requirements, read once, and no other: a sheet is the same everywhere."""
    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=list(FOLDERS))

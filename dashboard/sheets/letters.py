"""The letters of a sheet: which the typefaces that come along can draw, and what is written for one that none has."""

from __future__ import annotations

import re
import struct
import unicodedata
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any

import font_source_sans_pro
import manimgx_fonts
import manimgx_fonts_cjk

# Of Source Sans Pro each weight is a file of its own: in an SVG the typesetter takes the lightest of a typeface whose
# weights are one file. The others are for what people write: other scripts, emoji in black and white.
FOLDERS = (Path(font_source_sans_pro.__file__).resolve().parent / "files",
           *(Path(fonts.__file__).resolve().parent for fonts in (manimgx_fonts, manimgx_fonts_cjk)))
# Read from right to left. What stands after such letters keeps its place to the right of them, numbers too.
_LETTERS = "[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufeff\U00010800-\U00010fff\U0001e800-\U0001efff]+"
_RIGHT_TO_LEFT = re.compile(rf"{_LETTERS}(?:[\W\d]*{_LETTERS})*")
_LEFT_TO_RIGHT_MARK = "\u200e"
_DRAWS_NOTHING = ("Cf", "Mn", "Zl", "Zp", "Zs")  # joiners, marks on a letter, spaces


def as_drawn(shown: Any) -> Any:
    """The same, with each character that no typeface has written out by its name; drawings stay as they are."""
    if isinstance(shown, str):
        return shown if shown.isascii() or shown.startswith("<svg") else _written(shown)
    if isinstance(shown, Mapping):
        return {name: as_drawn(value) for name, value in shown.items()}
    return [as_drawn(value) for value in shown] if isinstance(shown, list | tuple) else shown


def _written(text: str) -> str:
    said = "".join(one if _is_drawn(one) else _named(one) for one in text)
    return _RIGHT_TO_LEFT.sub(rf"\g<0>{_LEFT_TO_RIGHT_MARK}", said)


def _is_drawn(character: str) -> bool:
    return ord(character) in drawable() or unicodedata.category(character) in _DRAWS_NOTHING


def _named(character: str) -> str:
    """`[tibetan letter ka]`; of one without a name its number."""
    return f"[{unicodedata.name(character, '').lower() or f'U+{ord(character):04X}'}]"


@cache
def drawable() -> frozenset[int]:
    """Every character that one of the typefaces has."""
    files = (file for folder in FOLDERS for file in sorted(folder.iterdir()) if file.suffix in (".ttf", ".otf", ".ttc"))
    return frozenset(point for file in files for start, end in _ranges(file.read_bytes())
                     for point in range(start, end + 1))


def _ranges(font: bytes) -> Iterator[tuple[int, int]]:
    """From where to where a font file has characters, by its table `cmap` (OpenType 1.9): of a collection the first."""
    start = struct.unpack_from(">I", font, 12)[0] if font[:4] == b"ttcf" else 0
    tables = (struct.unpack_from(">4s4xI", font, start + 12 + 16 * n)
              for n in range(struct.unpack_from(">H", font, start + 4)[0]))
    cmap = next(offset for tag, offset in tables if tag == b"cmap")
    for n in range(struct.unpack_from(">H", font, cmap + 2)[0]):
        yield from _subtable(font, cmap + struct.unpack_from(">4xI", font, cmap + 4 + 8 * n)[0])


def _subtable(font: bytes, at: int) -> Iterator[tuple[int, int]]:
    """The two formats that hold Unicode; the others are left out."""
    kind = struct.unpack_from(">H", font, at)[0]
    if kind == 12:
        for n in range(struct.unpack_from(">I", font, at + 12)[0]):
            yield struct.unpack_from(">II", font, at + 16 + 12 * n)
    elif kind == 4:
        count = struct.unpack_from(">H", font, at + 6)[0] // 2
        ends = struct.unpack_from(f">{count}H", font, at + 14)
        starts = struct.unpack_from(f">{count}H", font, at + 16 + 2 * count)
        yield from ((start, end) for start, end in zip(starts, ends, strict=True) if start != 0xffff)

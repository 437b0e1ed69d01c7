"""A drawing as it is printed: the lines of the style sheet, in the colours of paper, written into it."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

STYLES = Path(__file__).resolve().parent.parent / "static" / "dashboard" / "sillbook.css"
_VALUE = re.compile(r"(--[a-z-]+):\s*([^;]+);")
_RULE = re.compile(r"^(\.[\w., -]+)\s*\{([^{}]*)\}$", re.MULTILINE)
_TEXT = re.compile(r'<text class="((?:dimtext|axis)[^"]*)"([^>]*>[^<]*</text>)')
_SIZE = re.compile(r'viewBox="0 0 ([\d.]+) ([\d.]+)"')
UNIT = 0.675  # points: what is written on a drawing has one size on every sheet, and the widest of them fits
_NO_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")  # a tag may hold anything
_HATCH = ('<defs><pattern id="hatch" width="7" height="7" patternUnits="userSpaceOnUse" '
          'patternTransform="rotate(45)"><path class="hatching" d="M0 0V7"/></pattern></defs>')


@cache
def lines() -> str:
    """The rules for what is drawn, with each named value put in."""
    whole = STYLES.read_text(encoding="utf-8")
    values = dict(_VALUE.findall(whole.partition("}")[0]))  # the first block: by day
    drawn = whole.partition("/* ---- lines of a drawing ---- */")[2].partition("/* ----")[0]
    rules = [f"{names}{{{body}}}" for names, body in _RULE.findall(drawn) if ".drawing" not in names]
    rules = [rule for rule in rules if "paint-order" not in rule]
    return re.sub(r"var\((--[a-z-]+)\)", lambda name: values[name[1]].replace("\n", " "), "\n".join(rules))


def printed(svg: str) -> str:
    """The drawing with its lines in it; it stands alone, as a file would. The paper round a text, which keeps lines off
    it, is drawn under the text: a typesetter paints it over the letters otherwise."""
    head, _, rest = _NO_XML.sub("\ufffd", svg).partition(">")
    head = re.sub(r'\s(width|role|aria-labelledby)="[^"]*"', "", head)
    wide, high = (float(size) * UNIT for size in _SIZE.search(head).groups())
    head = f'{head} width="{wide:.1f}pt" height="{high:.1f}pt"'
    return f'{head} xmlns="http://www.w3.org/2000/svg"><style>{lines()}</style>{_HATCH}{_TEXT.sub(_on_paper, rest)}'


def _on_paper(text: re.Match[str]) -> str:
    under = f'<text class="{text[1]}" stroke="#fff" stroke-width="4" stroke-linejoin="round"{text[2]}'
    return under + text[0]

"""Pictures for the demo, drawn: a wall, a tape laid over it, a line of sealant. Small, and the same every time."""

from __future__ import annotations

import io
from random import Random

from PIL import Image, ImageDraw

SIZE = (480, 320)
PLASTER, CONCRETE, STUD, TAPE, INK, METAL = "#d9d4c8", "#b9b8b2", "#c9a877", "#f1d04b", "#23303a", "#8b959c"


def drawn(chance: Random, caption: str, *, studs: bool = False) -> bytes:
    """A JPEG of a floor, a wall with or without its studs, and a tape in view."""
    image = Image.new("RGB", SIZE, PLASTER)
    pen = ImageDraw.Draw(image)
    if studs:
        _studs(pen, chance)
    _floor(pen, chance)
    _tape(pen, 250 + chance.randint(-8, 8), chance.randint(20, 90))
    pen.text((10, 8), caption[:70], fill=INK)
    out = io.BytesIO()
    image.save(out, "JPEG", quality=70)
    return out.getvalue()


def _studs(pen: ImageDraw.ImageDraw, chance: Random) -> None:
    first = chance.randint(12, 40)
    for left in range(first, SIZE[0], 92):
        pen.rectangle((left, 30, left + 22, 240), fill=STUD, outline=INK)


def _floor(pen: ImageDraw.ImageDraw, chance: Random) -> None:
    pen.rectangle((0, 238, *SIZE), fill=CONCRETE)
    pen.rectangle((0, 228, SIZE[0], 240), fill=METAL, outline=INK)
    for _ in range(60):
        x, y = chance.randint(0, SIZE[0]), chance.randint(244, SIZE[1])
        pen.point((x, y), fill=INK)


def _tape(pen: ImageDraw.ImageDraw, top: int, left: int) -> None:
    right = min(left + 340, SIZE[0] - 10)
    pen.rectangle((left, top, right, top + 30), fill=TAPE, outline=INK)
    for n, x in enumerate(range(left + 6, right, 8)):
        pen.line((x, top, x, top + (20 if n % 4 == 0 else 10)), fill=INK, width=2 if n % 4 == 0 else 1)
        if n % 8 == 0:
            pen.text((x + 3, top + 14), str(n // 4 + 1), fill=INK)

"""Pictures made on the spot: what telephones send, and what somebody with bad intent would."""

from __future__ import annotations

import io
import struct
import zlib
from typing import Any

import pillow_heif
from PIL import Image

pillow_heif.register_heif_opener()

RED, BLUE = (220, 20, 30), (20, 40, 210)
WHERE = "Exact Place 7"  # what an image carries beside its pixels, to be looked for afterwards


def halves(width: int = 64, height: int = 32) -> Image.Image:
    """Red on the left, blue on the right."""
    image = Image.new("RGB", (width, height), RED)
    image.paste(BLUE, (width // 2, 0, width, height))
    return image


def encoded(image: Image.Image, form: str = "JPEG", **how: Any) -> bytes:
    out = io.BytesIO()
    image.save(out, form, **how)
    return out.getvalue()


def jpeg(width: int = 64, height: int = 32, **how: Any) -> bytes:
    return encoded(halves(width, height), **{"quality": 95, **how})


def exif(orientation: int = 1) -> bytes:
    """A camera's notes, with a place on earth and words."""
    notes = Image.Exif()
    notes[0x0112] = orientation
    notes[0x010E] = WHERE
    notes.get_ifd(0x8825).update({1: "N", 2: (12.0, 34.0, 56.0), 3: "W", 4: (98.0, 7.0, 6.0)})
    return notes.tobytes()


def png_claiming(width: int, height: int) -> bytes:
    """A PNG of some hundred bytes that says it has these many pixels."""
    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(bytes(1000)))
            + chunk(b"IEND", b""))


def webp_claiming(width: int, height: int) -> bytes:
    data = bytearray(encoded(Image.new("RGB", (4, 4)), "WEBP", lossless=True, exif=exif()))
    at = data.index(b"VP8X") + 12
    data[at : at + 6] = (width - 1).to_bytes(3, "little") + (height - 1).to_bytes(3, "little")
    return bytes(data)


def jpeg_of_many_scans(scans: int) -> bytes:
    """A progressive JPEG that repeats its last pass over all pixels again and again."""
    data = encoded(halves(), progressive=True)
    last = data.rindex(b"\xff\xda")
    return data[:-2] + data[last:-2] * scans + data[-2:]

"""Pictures from telephones: read by their content, turned upright, made smaller, and written anew.

Only pixels come through. Whatever else a file carried (where it was taken, previews, a film, an archive hung on its
end) stays behind. What is kept is always a JPEG in sRGB.
"""

from __future__ import annotations

import io
import re
import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from PIL import Image, ImageCms
from pillow_heif import register_heif_opener

from jobs.errors import Invalid

FORMATS = ("JPEG", "PNG", "WEBP", "AVIF", "HEIF")
CONTENT_TYPE = "image/jpeg"
MOST_BYTES = 20 * 1024 * 1024
MOST_PIXELS = 64_000_000
MOST_SCANS = 64  # an ordinary progressive JPEG has ten
LONGEST_SIDE = 2560
THUMBNAIL_SIDE = 320
QUALITY = 85

_ORIENTATION = 0x0112
_UPRIGHT = {
    2: Image.Transpose.FLIP_LEFT_RIGHT, 3: Image.Transpose.ROTATE_180, 4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE, 6: Image.Transpose.ROTATE_270, 7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
_MARKER = re.compile(rb"\xff([^\x00\xff\xd0-\xd7])", re.DOTALL)  # inside a scan: not stuffing, not a restart
_OTHER_TONGUES = re.compile(rb"<script|<\?php|<!doctype|<svg[\s>]", re.IGNORECASE)

# A picture within the limit takes up to a quarter of a gigabyte while it is read: one at a time in a process.
_one_at_a_time = threading.Lock()

# Previews and depth maps inside the container are other pictures than the one that was sent.
register_heif_opener(thumbnails=False, depth_images=False, aux_images=False, decode_threads=1)


@dataclass(frozen=True, slots=True)
class Picture:
    """A JPEG without anything but its pixels."""

    data: bytes
    width: int
    height: int


class NotAPicture(Invalid):
    code, title = "not-a-picture", "That picture cannot be taken"


def read(data: bytes) -> Picture:
    """The picture in `data`, upright and without its location; refuses what is no picture, or more than one thing."""
    _refuse_before_reading(data)
    with _one_at_a_time:
        return _guarded(lambda: _written(_upright(data)))


def thumbnail(data: bytes) -> bytes:
    """A small copy of a picture that `read` gave."""
    with _one_at_a_time:
        return _guarded(lambda: _written(_upright(data, THUMBNAIL_SIDE))).data


def _guarded(work: Callable[[], Picture]) -> Picture:
    try:
        return work()
    except NotAPicture:
        raise
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as why:
        raise _too_large() from why
    except Exception as why:  # decoders of other people's files raise whatever they like; none of it is our failure
        raise NotAPicture("This file is no whole picture that we can read. Send a JPEG, PNG, WebP, AVIF or HEIC; if it "
                          "is one, it was cut off on the way: send it again.") from why


def _refuse_before_reading(data: bytes) -> None:
    if not data:
        raise NotAPicture("The file is empty. Send the picture again.")
    if len(data) > MOST_BYTES:
        raise NotAPicture(f"The file has more than {MOST_BYTES // 1024 // 1024} MB. Make the picture smaller first.")
    if _is_something_else_too(data):
        raise NotAPicture("This file is a picture and something else as well. Take the picture again, or save it anew.")
    if _scans(data) > MOST_SCANS:
        raise NotAPicture("This JPEG is built in far more passes than a camera makes. Save it anew and send that.")


def _is_something_else_too(data: bytes) -> bool:
    """Whether another program would take the whole file for a page, a script, a document or an archive."""
    end = data.rfind(b"PK\x05\x06", max(0, len(data) - 65_557))  # an archive is read from its end, within this reach
    is_archive = end >= 0 and end + 22 + int.from_bytes(data[end + 20 : end + 22], "little") <= len(data)
    return is_archive or b"%PDF-" in data[:1024] or _OTHER_TONGUES.search(data) is not None


def _scans(data: bytes) -> int:
    """How many passes a JPEG makes over its pixels: each costs time for all of them, and a few bytes are enough."""
    if not data.startswith(b"\xff\xd8"):
        return 0
    at, scans = 2, 0
    while (found := _MARKER.search(data, at)) and found[1] != b"\xd9" and scans <= MOST_SCANS:
        scans += found[1] == b"\xda"
        start = found.end()
        at = start if found[1] == b"\x01" else start + int.from_bytes(data[start : start + 2], "big")
    return scans


def _upright(data: bytes, side: int = LONGEST_SIDE) -> Image.Image:
    image = Image.open(io.BytesIO(data), formats=FORMATS)
    _refuse_too_large(image)
    if image.format == "JPEG":
        image.draft(image.mode, (side, side))  # decodes at a half, a quarter or an eighth where that is enough
    image.load()
    _refuse_too_large(image)  # a container may promise less than it holds
    turn = _UPRIGHT.get(_orientation(image))
    colours = _in_srgb(_smaller(image, side), image.info.get("icc_profile"))
    return colours if turn is None else colours.transpose(turn)


def _refuse_too_large(image: Image.Image) -> None:
    if image.width * image.height > MOST_PIXELS:
        raise _too_large()


def _too_large() -> NotAPicture:
    return NotAPicture(f"The picture has too many pixels; {MOST_PIXELS // 1_000_000} million is the most.")


def _orientation(image: Image.Image) -> Any:
    try:
        return image.getexif().get(_ORIENTATION)
    except Exception:  # what a camera wrote about a picture may be broken while the picture is whole
        return None


def _smaller(image: Image.Image, side: int) -> Image.Image:
    if image.mode in ("P", "PA", "LA", "1"):  # these cannot be averaged as they are
        image = image.convert("RGBA")
    elif image.mode.startswith("I;16"):
        image = image.point(lambda level: level / 256).convert("L")
    image.thumbnail((side, side), Image.Resampling.LANCZOS, reducing_gap=2.0)
    return image


def _in_srgb(image: Image.Image, profile: bytes | None) -> Image.Image:
    if "A" in image.getbands():  # nothing shows through on paper
        ground = Image.new("RGB", image.size, "white")
        ground.paste(image.convert("RGB"), mask=image.getchannel("A"))
        image = ground
    if profile:
        try:
            source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
            converted = ImageCms.profileToProfile(image, source, ImageCms.createProfile("sRGB"), outputMode="RGB")
            return converted or image.convert("RGB")
        except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
            pass  # a profile that does not fit: its colours are then taken as they stand
    return image.convert("RGB")


def _written(image: Image.Image) -> Picture:
    pixels = image.copy()
    pixels.info = {}  # a comment or a profile would otherwise travel on
    pixels.getexif().clear()
    out = io.BytesIO()
    pixels.save(out, "JPEG", quality=QUALITY, optimize=True)
    return Picture(data=out.getvalue(), width=pixels.width, height=pixels.height)

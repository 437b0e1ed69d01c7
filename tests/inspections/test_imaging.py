"""What becomes of a picture on arrival."""

import io
import zipfile

import pytest
from PIL import Image, ImageCms

from inspections import imaging
from inspections.imaging import NotAPicture
from tests.pictures import (
    WHERE,
    encoded,
    exif,
    halves,
    jpeg,
    jpeg_of_many_scans,
    png_claiming,
    webp_claiming,
)


def kept(data: bytes) -> Image.Image:
    image = Image.open(io.BytesIO(imaging.read(data).data), formats=["JPEG"])
    image.load()
    return image


def looks(image: Image.Image, at: tuple[int, int]) -> str:
    red, _, blue = image.getpixel(at)
    return "red" if red > blue else "blue"


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP", "AVIF", "HEIF"])
def test_each_form_a_telephone_sends_is_read_and_kept_as_jpeg(form):
    image = kept(encoded(halves(), form))
    assert (image.format, image.size) == ("JPEG", (64, 32))
    assert (looks(image, (8, 16)), looks(image, (56, 16))) == ("red", "blue")


@pytest.mark.parametrize("form", ["GIF", "BMP", "TIFF", "PPM", "PDF", "ICO", "TGA"])
def test_other_forms_are_refused_though_pillow_could_read_or_write_them(form):
    with pytest.raises(NotAPicture):
        imaging.read(encoded(halves(), form))


@pytest.mark.parametrize("data", [
    b"", b"\xff\xd8", b"\xff\xd8\xff\xe0photo.jpg", b"GIF89a", b"<svg xmlns='http://www.w3.org/2000/svg'/>",
    b"\x00\x00\x00\x18ftypheic", b"RIFF\x00\x00\x00\x00WEBP", b"\x89PNG\r\n\x1a\n", b"words, not a picture" * 40,
], ids=repr)
def test_what_is_no_picture_is_refused_with_a_sentence(data):
    with pytest.raises(NotAPicture) as refused:
        imaging.read(data)
    assert refused.value.status == 422
    assert refused.value.detail.endswith(".")


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP", "AVIF", "HEIF"])
def test_a_picture_cut_off_on_the_way_is_refused_not_kept_in_part(form):
    whole = encoded(Image.effect_noise((200, 200), 80).convert("RGB"), form)
    with pytest.raises(NotAPicture, match="send it again"):
        imaging.read(whole[: len(whole) * 2 // 3])


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP", "AVIF", "HEIF"])
def test_location_and_the_cameras_other_notes_are_gone(form):
    data = encoded(halves(), form, exif=exif(), xmp=f"<x:xmpmeta>{WHERE}</x:xmpmeta>".encode())
    assert WHERE.encode() in data, "the test must send what it looks for"
    picture = imaging.read(data)
    image = kept(data)
    assert WHERE.encode() not in picture.data
    assert not image.getexif()
    assert not {"exif", "xmp", "icc_profile", "comment"} & set(image.info)


def test_a_comment_in_a_jpeg_is_gone():
    data = jpeg(comment=WHERE.encode())
    assert WHERE.encode() in data
    assert WHERE.encode() not in imaging.read(data).data


# Where the red half ends up, by the Exif standard's table of orientations (tag 0112).
@pytest.mark.parametrize(("orientation", "size", "red_at"), [
    (1, (64, 32), (8, 16)), (2, (64, 32), (56, 16)), (3, (64, 32), (56, 16)), (4, (64, 32), (8, 16)),
    (5, (32, 64), (16, 8)), (6, (32, 64), (16, 8)), (7, (32, 64), (16, 56)), (8, (32, 64), (16, 56)),
])
@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_a_picture_is_turned_upright(form, orientation, size, red_at):
    image = kept(encoded(halves(), form, exif=exif(orientation)))
    other = (size[0] - 1 - red_at[0], size[1] - 1 - red_at[1])
    assert image.size == size
    assert (looks(image, red_at), looks(image, other)) == ("red", "blue")


def test_a_turned_heic_is_turned_once():
    image = kept(encoded(halves(), "HEIF", exif=exif(6)))
    assert image.size == (32, 64)
    assert (looks(image, (16, 8)), looks(image, (16, 56))) == ("red", "blue")


def test_broken_notes_do_not_lose_the_picture():
    assert kept(jpeg(exif=b"Exif\x00\x00nonsense")).size == (64, 32)


@pytest.mark.parametrize(("width", "height", "becomes"), [
    (3000, 1000, (2560, 853)), (1000, 3000, (853, 2560)), (2560, 10, (2560, 10)), (20000, 2, (2560, 1)),
])
def test_no_side_is_kept_longer_than_the_longest(width, height, becomes):
    picture = imaging.read(encoded(halves(width, height), "PNG"))
    assert (picture.width, picture.height) == becomes


def test_a_thumbnail_is_small_and_the_same_picture():
    small = Image.open(io.BytesIO(imaging.thumbnail(imaging.read(jpeg(1600, 800)).data)))
    assert small.size == (320, 160)
    assert (looks(small, (40, 80)), looks(small, (280, 80))) == ("red", "blue")


@pytest.mark.parametrize("bomb", [
    png_claiming(8001, 8000), png_claiming(60_000, 60_000), png_claiming(2**31 - 1, 2**31 - 1),
    webp_claiming(16_000, 16_000),
], ids=["just over", "large", "largest", "webp"])
def test_a_small_file_that_unfolds_into_too_many_pixels_is_refused(bomb):
    assert len(bomb) < 1000
    with pytest.raises(NotAPicture, match=r"pixels|no whole picture"):
        imaging.read(bomb)


def test_a_jpeg_that_goes_over_its_pixels_without_end_is_refused():
    ordinary = encoded(halves(), progressive=True)
    assert kept(ordinary).size == (64, 32)
    with pytest.raises(NotAPicture, match="passes"):
        imaging.read(jpeg_of_many_scans(imaging.MOST_SCANS))


def test_a_file_that_is_too_large_is_refused_before_it_is_read():
    with pytest.raises(NotAPicture, match="20 MB"):
        imaging.read(jpeg() + bytes(imaging.MOST_BYTES))


def _archive_after_a_picture(comment: bytes = b"") -> bytes:
    out = io.BytesIO()
    out.write(jpeg())
    with zipfile.ZipFile(out, "a") as archive:
        archive.writestr("run.class", "…")
        archive.comment = comment
    return out.getvalue()


@pytest.mark.parametrize("data", [
    _archive_after_a_picture(),
    _archive_after_a_picture(b"a remark " * 100),
    jpeg(comment=b"%PDF-1.7"),
    jpeg() + b"<script>alert(1)</script>",
    jpeg(comment=b"<?php system($_GET[0]); ?>"),
    jpeg() + b"<!DOCTYPE html><html>",
    encoded(halves(), "PNG") + b"<SVG onload=x>",
], ids=["archive", "archive with a remark", "document", "script", "php", "page", "drawing"])
def test_a_file_that_is_a_picture_and_something_else_is_refused(data):
    with pytest.raises(NotAPicture, match="something else"):
        imaging.read(data)


def test_a_film_behind_a_picture_is_left_behind():
    film = b"\x00\x00\x00\x18ftypmp42" + b"moving" * 500
    picture = imaging.read(jpeg() + film)
    assert b"moving" not in picture.data


def test_see_through_becomes_white():
    image = Image.new("RGBA", (20, 20), (0, 0, 0, 0))
    assert kept(encoded(image, "PNG")).getpixel((10, 10)) == (255, 255, 255)


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "CMYK", "I;16"])
def test_other_ways_to_write_colours_become_plain_ones(mode):
    grey = Image.new("L", (40, 40), 128)
    image = Image.new("I;16", (40, 40), 128 * 257) if mode == "I;16" else grey.convert("RGB").convert(mode)
    image = kept(encoded(image, "JPEG" if mode == "CMYK" else "PNG"))
    level = image.resize((1, 1), Image.Resampling.BOX).getpixel((0, 0))  # some are dots of black and white
    assert all(abs(value - 128) < 8 for value in level)


def test_colours_of_another_profile_are_brought_to_the_ordinary_one():
    ordinary = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    swapped = ordinary.replace(b"rXYZ", b"----").replace(b"bXYZ", b"rXYZ").replace(b"----", b"bXYZ")
    assert looks(kept(jpeg(icc_profile=ordinary)), (8, 16)) == "red"
    assert looks(kept(jpeg(icc_profile=swapped)), (8, 16)) == "blue", "a profile whose red is blue says so"


def test_a_profile_that_is_nonsense_does_not_lose_the_picture():
    assert looks(kept(jpeg(icc_profile=b"nonsense" * 30)), (8, 16)) == "red"

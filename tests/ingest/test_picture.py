import contextlib
import random
import struct
import zlib

import pytest
from PIL import Image, ImageDraw

from app.domain.errors import Refused
from app.domain.photo import UPLOAD_LIMIT_MB
from app.ingest import picture as picture_module
from app.ingest.picture import LONG_SIDE_PX, MOST_BYTES, redrawn
from tests.pictures import BLUE, RED, as_file, halves, near, opened

WHITE = (255, 255, 255)


def drawn(data):
    made = redrawn(data, "p")
    picture = opened(made.jpeg)
    assert (picture.format, picture.mode, picture.size) == (
        "JPEG",
        "RGB",
        (made.width, made.height),
    )
    return picture


def corners(picture):
    width, height = picture.size
    spots = ((2, 2), (width - 3, 2), (2, height - 3), (width - 3, height - 3))
    return [picture.getpixel(spot) for spot in spots]


def exif(orientation=1):
    made = Image.Exif()
    made[274] = orientation
    made[271] = "SECRETMAKER"
    made.get_ifd(0x8825)[2] = (47.0, 22.0, 30.0)
    made.get_ifd(0x8825)[1] = "N"
    return made


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_small_picture_keeps_its_size_and_colours(kind):
    picture = drawn(as_file(halves(), kind))
    assert picture.size == (80, 40)
    left, right, _, _ = corners(picture)
    assert near(left, RED)
    assert near(right, BLUE)


# Where red lies once the picture stands as the camera saw it: left, right, top or below.
@pytest.mark.parametrize(
    ("orientation", "red"),
    list(enumerate(("left", "right", "right", "left", "top", "top", "below", "below"), 1)),
)
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_picture_stands_as_the_camera_held_it(orientation, red, kind):
    picture = drawn(as_file(halves(), kind, exif=exif(orientation)))
    assert picture.size == ((80, 40) if orientation < 5 else (40, 80))
    reds = [near(corner, RED) for corner in corners(picture)]
    assert (
        reds
        == {
            "left": [True, False, True, False],
            "right": [False, True, False, True],
            "top": [True, True, False, False],
            "below": [False, False, True, True],
        }[red]
    )


def test_position_maker_comment_and_profile_are_gone():
    given = as_file(
        halves(), exif=exif(), comment=b"SECRETCOMMENT", icc_profile=b"SECRETPROFILE", dpi=(71, 71)
    )
    for secret in (b"SECRETMAKER", b"SECRETCOMMENT", b"SECRETPROFILE"):
        assert secret in given
    made = redrawn(given, "p").jpeg
    assert b"SECRET" not in made
    assert b"Exif" not in made
    picture = opened(made)
    assert dict(picture.getexif()) == {}
    # What is left is the frame of every JPEG file.
    assert set(picture.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density", *NOTHING}


NOTHING = ("progressive", "progression")


def test_bytes_behind_the_picture_are_gone():
    made = redrawn(as_file(halves()) + b"SECRETTAIL", "p").jpeg
    assert made.endswith(b"\xff\xd9")
    assert b"SECRETTAIL" not in made


def test_texts_of_a_png_are_gone():
    from PIL.PngImagePlugin import PngInfo

    told = PngInfo()
    told.add_text("Comment", "SECRETTEXT")
    assert b"SECRETTEXT" not in redrawn(as_file(halves(), "PNG", pnginfo=told), "p").jpeg


@pytest.mark.parametrize(
    ("size", "bounded"), [((4000, 2000), (1600, 800)), ((30, 3000), (16, 1600))]
)
def test_a_large_picture_is_bounded_and_keeps_its_shape(size, bounded):
    assert drawn(as_file(halves(size))).size == bounded


def test_a_picture_of_noise_is_still_within_its_bytes():
    noise = Image.frombytes("RGB", (1800, 1800), random.Random(1).randbytes(3 * 1800 * 1800))
    made = redrawn(as_file(noise, quality=70), "p")
    assert len(made.jpeg) <= MOST_BYTES
    assert max(made.width, made.height) <= LONG_SIDE_PX


def test_a_sharp_photo_of_numbers_stays_readable():
    """Black on white in letters of a meter's display: the edges stay black and white."""
    picture = Image.new("RGB", (3000, 2000), WHITE)
    ImageDraw.Draw(picture).rectangle((1000, 500, 2000, 1500), fill=(0, 0, 0))
    made = drawn(as_file(picture))
    assert near(made.getpixel((800, 540)), (0, 0, 0))
    assert near(made.getpixel((500, 540)), WHITE)


def see_through(mode):
    picture = Image.new("RGBA", (80, 40), (0, 0, 0, 0))
    picture.paste((*RED, 255), (0, 0, 40, 40))
    return picture.convert(mode)


def test_what_shows_through_is_white():
    left, right, _, _ = corners(drawn(as_file(see_through("RGBA"), "PNG")))
    assert near(left, RED)
    assert near(right, WHITE)


def test_grey_that_shows_through_is_white():
    picture = Image.new("LA", (80, 40), (0, 0))
    picture.paste((90, 255), (0, 0, 40, 40))
    left, right, _, _ = corners(drawn(as_file(picture, "PNG")))
    assert near(left, (90, 90, 90))
    assert near(right, WHITE)


def test_a_palette_with_a_colour_that_shows_through_is_read():
    picture = Image.new("P", (80, 40), 1)
    picture.putpalette([0, 0, 0, *RED])
    picture.paste(0, (40, 0, 80, 40))
    left, right, _, _ = corners(drawn(as_file(picture, "PNG", transparency=0)))
    assert near(left, RED)
    assert near(right, WHITE)


def test_a_colour_that_stands_for_nothing_is_white_at_any_size():
    data = as_file(halves((4000, 2000)), "PNG", transparency=BLUE)
    left, right, _, _ = corners(drawn(data))
    assert near(left, RED)
    assert near(right, WHITE)


def test_printer_s_colours_are_read():
    picture = drawn(as_file(Image.new("CMYK", (80, 40), (0, 0, 0, 0))))
    assert near(corners(picture)[0], WHITE)


@pytest.mark.parametrize(("level", "grey"), [(0, 0), (32896, 128), (65535, 255)])
def test_sixteen_bits_are_scaled_and_not_cut_off(level, grey):
    picture = Image.new("I;16", (80, 40), level)
    assert near(corners(drawn(as_file(picture, "PNG")))[0], (grey, grey, grey))


def test_black_and_white_is_read():
    assert near(corners(drawn(as_file(Image.new("1", (80, 40), 1), "PNG")))[0], WHITE)


def test_one_pixel_is_a_picture():
    assert drawn(as_file(Image.new("RGB", (1, 1), RED), "PNG")).size == (1, 1)


def test_a_phone_s_second_picture_behind_the_first_is_left_behind():
    data = as_file(halves(), "MPO", save_all=True, append_images=[Image.new("RGB", (9, 9))])
    assert drawn(data).size == (80, 40)


@pytest.mark.filterwarnings("ignore")
def test_a_spoilt_note_of_the_camera_does_not_spoil_the_picture():
    data = as_file(halves(), exif=exif())
    at = data.index(b"Exif\0\0") + 6
    assert drawn(data[:at] + b"\xff" * 20 + data[at + 20 :]).size == (80, 40)


def refused(data, name="IMG_1.jpg"):
    with pytest.raises(Refused) as caught:
        redrawn(data, name)
    (problem,) = caught.value.problems
    assert (problem.where, problem.value, problem.field) == ("photo", name, "photos")
    return problem.allowed


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize("share", [0.05, 0.5, 0.9])
def test_a_truncated_picture_is_refused(kind, share):
    noise = Image.frombytes("RGB", (90, 90), random.Random(1).randbytes(3 * 90 * 90))
    data = as_file(noise, kind)
    assert refused(data[: int(share * len(data))]).startswith("a picture as JPEG, PNG or WebP")


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"no picture",
        b"\xff\xd8\xff",
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        b"%PDF-1.4",
    ],
)
def test_what_is_no_picture_is_refused(data):
    assert "a picture as JPEG, PNG or WebP" in refused(data)


@pytest.mark.parametrize("kind", ["GIF", "BMP", "TIFF"])
def test_other_kinds_of_picture_are_refused(kind):
    assert "none of them" in refused(as_file(halves(), kind))


@pytest.mark.parametrize("brand", [b"heic", b"mif1", b"avif"])
def test_a_phone_s_newer_kind_is_refused_with_the_way_out(brand):
    said = refused(b"\0\0\0\x18ftyp" + brand + b"\0" * 40, "IMG_1.HEIC")
    assert "Phones can be set to save JPEG" in said


@pytest.mark.parametrize("kind", ["PNG", "WEBP"])
def test_a_moving_picture_is_refused(kind):
    data = as_file(halves(), kind, save_all=True, append_images=[Image.new("RGB", (80, 40))])
    assert refused(data) == "a still picture, not a moving one"


def test_more_than_twenty_megabytes_are_refused_before_anything_is_read():
    said = refused(b"\0" * (UPLOAD_LIMIT_MB * 1_000_000 + 1))
    assert "at most 20 MB; this one has 20.0 MB" in said


def png_that_says(width, height):
    """A head that promises so many pixels, and nothing behind it."""

    def chunk(kind, data):
        crc = zlib.crc32(kind + data)
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", crc)

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(b""))
        + chunk(b"IEND", b"")
    )


def webp_that_says(width, height):
    size = (width - 1).to_bytes(3, "little") + (height - 1).to_bytes(3, "little")
    return b"RIFF\x40\0\0\0WEBPVP8X\x0a\0\0\0" + b"\0" * 4 + size + b"\0" * 30


def lossless_webp_that_says(width, height):
    bits = (width - 1) | (height - 1) << 14
    return b"RIFF\x40\0\0\0WEBPVP8L\x40\0\0\0\x2f" + bits.to_bytes(4, "little") + b"\0" * 30


@pytest.mark.parametrize(
    ("made", "kind", "most"),
    [
        (png_that_says, "PNG", 48),
        (webp_that_says, "WebP", 16),
        (lossless_webp_that_says, "WebP", 16),
    ],
)
@pytest.mark.parametrize("width", [8001, 11000])
def test_a_bomb_is_refused_by_what_its_head_says(made, kind, most, width):
    said = refused(made(width, most * 125))
    assert f"as {kind} a picture of at most {most} megapixels" in said
    assert f"{width} × {most * 125}" in said
    assert "save it as JPEG (up to 64) or smaller" in said


def test_a_jpeg_may_be_larger_for_it_is_decoded_small(monkeypatch):
    monkeypatch.setattr("app.ingest.picture.MOST_PIXELS", {"JPEG": 900, "PNG": 400, "WEBP": 100})
    picture = Image.new("RGB", (30, 30), RED)
    assert drawn(as_file(picture)).size == (30, 30)
    for kind in ("PNG", "WEBP"):
        assert "30 × 30" in refused(as_file(picture, kind))


@pytest.mark.parametrize("mode", ["RGB", "RGBA", "LA", "P", "I;16"])
def test_a_large_picture_is_put_into_other_colours_in_strips(monkeypatch, mode):
    sizes = []
    plain = picture_module._plain
    monkeypatch.setattr(
        picture_module, "_plain", lambda one: sizes.append(one.width * one.height) or plain(one)
    )
    picture = Image.new(mode, (3203, 2001))
    assert drawn(as_file(picture, "PNG")).size == (1600, 1000)
    assert len(sizes) > 2
    assert max(sizes) <= 1_000_000


def test_strips_of_any_height_join_without_a_seam():
    picture = Image.linear_gradient("L").resize((1999, 5003)).convert("RGB")
    small = drawn(as_file(picture, "PNG"))
    at_once = picture.resize(small.size, Image.Resampling.LANCZOS)
    for y in range(0, small.height, 7):
        assert near(small.getpixel((300, y)), at_once.getpixel((300, y)))


@pytest.mark.parametrize("width", [40_000, 2**31 - 1])
def test_a_bomb_beyond_the_decoder_s_own_limit_is_refused_too(width):
    assert "at most 48 megapixels" in refused(png_that_says(width, 40_000))


def test_the_sizes_in_heads_of_webp_are_read_as_the_decoder_reads_them():
    from app.ingest.picture import _webp_size

    for size in ((1, 1), (80, 40), (1023, 513)):
        picture = halves(size)
        for more in ({}, {"lossless": True}, {"exif": exif()}):
            assert _webp_size(as_file(picture, "WEBP", **more)) == size


def test_flipped_bytes_are_refused_or_drawn_and_never_anything_else():
    chance = random.Random(3)
    for kind in ("JPEG", "PNG", "WEBP"):
        whole = as_file(halves((200, 100)), kind, exif=exif(6))
        for _ in range(150):
            data = bytearray(whole)
            for _ in range(chance.randint(1, 6)):
                data[chance.randrange(len(data))] = chance.randrange(256)
            with contextlib.suppress(Refused):
                assert redrawn(bytes(data), "p").jpeg.startswith(b"\xff\xd8\xff")

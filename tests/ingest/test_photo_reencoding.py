"""A photo is drawn anew: upright, bounded, and without what the camera wrote into it."""

import random

import pytest
from PIL import Image, ImageDraw

from app.ingest import photo_reencoding as picture_module
from app.ingest.photo_reencoding import LONG_SIDE_PX, MAX_BYTES, redrawn
from tests.pictures import BLUE, RED, as_file, exif, halves, near, opened

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
    assert len(made.jpeg) <= MAX_BYTES
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

"""What is no picture, half of one, or a bomb is refused and never drawn."""

import contextlib
import random
import struct
import zlib

import pytest
from PIL import Image

from app.domain.errors import InvalidInput
from app.domain.photo import UPLOAD_LIMIT_MB
from app.ingest.photo_reencoding import redrawn
from tests.pictures import RED, as_file, exif, halves, opened


def refused(data, name="IMG_1.jpg"):
    with pytest.raises(InvalidInput) as caught:
        redrawn(data, name)
    (problem,) = caught.value.problems
    assert (problem.where, problem.value, problem.field) == ("photo", name, "photos")
    return problem.allowed


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize("share", [0.05, 0.5, 0.9])
def test_a_truncated_picture_is_refused(kind, share):
    noise = Image.frombytes("RGB", (90, 90), random.Random(1).randbytes(3 * 90 * 90))
    data = as_file(noise, kind)
    assert refused(data[: int(share * len(data))]).startswith("a JPEG, PNG or WebP picture")


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
    assert "a JPEG, PNG or WebP picture" in refused(data)


@pytest.mark.parametrize("kind", ["GIF", "BMP", "TIFF"])
def test_other_kinds_of_picture_are_refused(kind):
    assert "none of these" in refused(as_file(halves(), kind))


@pytest.mark.parametrize("brand", [b"heic", b"mif1", b"avif"])
def test_a_phone_s_newer_kind_is_refused_with_the_way_out(brand):
    said = refused(b"\0\0\0\x18ftyp" + brand + b"\0" * 40, "IMG_1.HEIC")
    assert "Set the phone to save JPEG" in said


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
    monkeypatch.setattr(
        "app.ingest.photo_reencoding.MAX_PIXELS", {"JPEG": 900, "PNG": 400, "WEBP": 100}
    )
    picture = Image.new("RGB", (30, 30), RED)
    assert opened(redrawn(as_file(picture), "p").jpeg).size == (30, 30)
    for kind in ("PNG", "WEBP"):
        assert "30 × 30" in refused(as_file(picture, kind))


@pytest.mark.parametrize("width", [40_000, 2**31 - 1])
def test_a_bomb_beyond_the_decoder_s_own_limit_is_refused_too(width):
    assert "at most 48 megapixels" in refused(png_that_says(width, 40_000))


def test_the_sizes_in_heads_of_webp_are_read_as_the_decoder_reads_them():
    from app.ingest.photo_reencoding import _webp_size

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
            with contextlib.suppress(InvalidInput):
                assert redrawn(bytes(data), "p").jpeg.startswith(b"\xff\xd8\xff")

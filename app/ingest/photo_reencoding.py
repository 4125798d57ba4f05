"""A picture from anywhere to a small upright JPEG that holds nothing but what is to be seen.

What a camera writes beside the picture (place, time, serial number, a preview) never gets past
here: the JPEG is drawn anew from the pixels alone.
"""

import struct
from io import BytesIO

from PIL import Image, UnidentifiedImageError

from app.domain.errors import InvalidInput
from app.domain.i18n.message import say
from app.domain.photo import UPLOAD_LIMIT_MB, Picture

LONG_SIDE_PX = 1600
MAX_BYTES = 400_000
# What phones take. A JPEG is decoded small; a pixel of a PNG costs four bytes meanwhile, one of a
# WebP sixteen (measured), which comes to about 200 and 260 MB.
MAX_PIXELS = {"JPEG": 64_000_000, "PNG": 48_000_000, "WEBP": 16_000_000}
_FORMATS = tuple(MAX_PIXELS)
_STRIP_PIXELS = 1_000_000
_QUALITIES = (85, 78, 70, 60, 50, 40)
# The kinds of file that begin with "ftyp": pictures of recent phones, and films.
_PHONE_BRANDS = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1", b"avif")
_WHITE = (255, 255, 255)
# What undoes each orientation of Exif 2.32 (CIPA DC-008-2019), tag 274.
_ORIENTATION_TAG = 274
_TURNS = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}


def redrawn(data: bytes, name: str) -> Picture:
    """Draw a picture anew: at most 1600 pixels long and about 400 KB.

    name is the file's, for refusals. Raises InvalidInput for what is no still picture, is damaged,
    is larger than 20 MB, or has more pixels than its kind may have.
    """
    _refuse_by_head(data, name)
    try:
        # Opening reads the head alone.
        with Image.open(BytesIO(data), formats=_FORMATS) as opened:
            kind = opened.format or ""
            _refuse_by_size(opened.width, opened.height, kind, name)
            # A phone's JPEG may carry further pictures behind the first: no film.
            moving = kind != "MPO" and getattr(opened, "is_animated", False)
            small = None if moving else _drawn(opened)
    except InvalidInput:
        raise
    except UnidentifiedImageError as error:
        allowed = say("a JPEG, PNG or WebP picture; this file is none of these")
        raise _refused(name, allowed) from error
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise _refused(name, _pixels_allowed(data)) from error
    except Exception as error:
        # A decoder on foreign bytes raises whatever it likes.
        allowed = say("a JPEG, PNG or WebP picture that is whole")
        raise _refused(name, allowed) from error
    if small is None:
        raise _refused(name, say("a still picture, not a moving one"))
    return _as_jpeg(small)


def _refused(name: str, allowed: str) -> InvalidInput:
    return InvalidInput.because(say("photo"), name, allowed, "photos")


def _pixels_allowed(data: bytes) -> str:
    """For a size at which the decoder itself does not tell more than that it is too large."""
    most = MAX_PIXELS["PNG" if data.startswith(b"\x89PNG") else "JPEG"]
    return say("a picture of at most {most} megapixels", most=most // 1_000_000)


def _refuse_by_head(data: bytes, name: str) -> None:
    """What can be told before anything is decoded."""
    if len(data) > UPLOAD_LIMIT_MB * 1_000_000:
        allowed = say(
            "a picture of at most {most} MB; this one has {size:.1f} MB",
            most=UPLOAD_LIMIT_MB,
            size=len(data) / 1e6,
        )
        raise _refused(name, allowed)
    if data[4:8] == b"ftyp" and data[8:12] in _PHONE_BRANDS:
        allowed = say(
            "a JPEG, PNG or WebP picture; this is a kind that newer phones save (HEIC or AVIF). "
            "Set the phone to save JPEG: look for “most compatible” or the like in its camera "
            "settings"
        )
        raise _refused(name, allowed)
    size = _webp_size(data)
    if size is not None:
        _refuse_by_size(*size, "WEBP", name)


def _refuse_by_size(width: int, height: int, kind: str, name: str) -> None:
    # What a phone calls MPO is a JPEG with more behind it.
    most = MAX_PIXELS.get(kind, MAX_PIXELS["JPEG"])
    if width * height <= most:
        return
    if most == MAX_PIXELS["JPEG"]:
        allowed = say(
            "a picture of at most {most} megapixels; this one has {width} × {height}",
            most=most // 1_000_000,
            width=width,
            height=height,
        )
    else:
        allowed = say(
            "as {kind} a picture of at most {most} megapixels; this one has {width} × {height}: "
            "save it as JPEG (up to {most_jpeg}) or smaller",
            kind={"WEBP": "WebP"}.get(kind, kind),
            most=most // 1_000_000,
            width=width,
            height=height,
            most_jpeg=MAX_PIXELS["JPEG"] // 1_000_000,
        )
    raise _refused(name, allowed)


def _webp_size(data: bytes) -> tuple[int, int] | None:
    """Size of the canvas, which the decoder takes memory for as soon as it is opened.

    After RFC 9649: VP8X holds it less one in 24 bits each, VP8L in 14 bits each; VP8 in 14 bits.
    """
    if data[:4] != b"RIFF" or data[8:12] != b"WEBP" or len(data) < 30:
        return None
    if data[12:16] == b"VP8X":
        width, height = (int.from_bytes(data[at : at + 3], "little") for at in (24, 27))
        return width + 1, height + 1
    if data[12:16] == b"VP8L":
        bits = int.from_bytes(data[21:25], "little")
        return (bits & 0x3FFF) + 1, (bits >> 14 & 0x3FFF) + 1
    width, height = struct.unpack_from("<HH", data, 26)
    return width & 0x3FFF, height & 0x3FFF


def _drawn(opened: Image.Image) -> Image.Image:
    """Decoded, upright, no longer than the bound, on white where something shows through."""
    turn = _TURNS.get(_orientation(opened))
    bound = (LONG_SIDE_PX, LONG_SIDE_PX)
    # A JPEG is decoded at a half, a quarter or an eighth where that is enough.
    opened.draft(None, bound)
    opened.load()
    plain = _reduced(opened)
    plain.thumbnail(bound, Image.Resampling.LANCZOS)
    if plain.mode == "RGBA":
        white = Image.new("RGB", plain.size, _WHITE)
        white.paste(plain, mask=plain.getchannel("A"))
        plain = white
    return plain if turn is None else plain.transpose(turn)


def _reduced(picture: Image.Image) -> Image.Image:
    """A picture in plain colours, several times smaller while it stays as large as the bound.

    Strip by strip: all of it at once in other colours would be there once or twice more.
    """
    by = max(1, max(picture.size) // LONG_SIDE_PX)
    if by == 1:
        return _plain(picture)
    rows = by * max(1, _STRIP_PIXELS // (picture.width * by))
    made: Image.Image | None = None
    for top in range(0, picture.height, rows):
        strip = picture.crop((0, top, picture.width, min(top + rows, picture.height)))
        small = _plain(strip).reduce(by)
        if made is None:
            made = Image.new(small.mode, (small.width, -(-picture.height // by)))
        made.paste(small, (0, top // by))
    return picture if made is None else made


def _orientation(opened: Image.Image) -> int:
    """Which way is up, as the camera noted it; 1 where it did not or cannot be read."""
    try:
        return int(opened.getexif().get(_ORIENTATION_TAG, 1))
    except Exception:
        # Broad on purpose: what a reader of notes raises on foreign bytes is nowhere promised, and
        # what is wrong with the picture itself shows when it is drawn.
        return 1


def _plain(picture: Image.Image) -> Image.Image:
    """Any mode as RGB, or RGBA where something shows through."""
    if picture.mode.startswith("I"):
        # 16 bits a pixel: a conversion would cut the bright off instead of scaling it.
        picture = picture.point(lambda value: value * (1 / 257)).convert("L")
    if picture.has_transparency_data:
        return picture.convert("RGBA")
    return picture if picture.mode == "RGB" else picture.convert("RGB")


def _as_jpeg(picture: Image.Image) -> Picture:
    """The best quality that stays within the bytes; a picture full of detail shrinks."""
    # A new picture has nothing to carry along.
    bare = Image.new("RGB", picture.size)
    bare.paste(picture)
    while True:
        for quality in _QUALITIES:
            out = BytesIO()
            bare.save(out, "JPEG", quality=quality, optimize=True, progressive=True)
            if out.tell() <= MAX_BYTES:
                return Picture(out.getvalue(), bare.width, bare.height)
        smaller = (max(1, bare.width * 3 // 4), max(1, bare.height * 3 // 4))
        bare = bare.resize(smaller, Image.Resampling.LANCZOS)

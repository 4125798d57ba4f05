"""Small pictures to work on. All invented."""

import hashlib
from io import BytesIO
from typing import Any

from PIL import Image

from app.storage.schema.tables import PhotoRow
from tests.builders import NOW

RED, BLUE = (200, 30, 30), (30, 30, 200)


def halves(size: tuple[int, int] = (80, 40)) -> Image.Image:
    """Red on the left, blue on the right."""
    made = Image.new("RGB", size, RED)
    made.paste(BLUE, (size[0] // 2, 0, *size))
    return made


def as_file(picture: Image.Image, kind: str = "JPEG", **more: Any) -> bytes:
    out = BytesIO()
    picture.save(out, kind, **more)
    return out.getvalue()


def opened(data: bytes) -> Image.Image:
    made = Image.open(BytesIO(data))
    made.load()
    return made


def near(colour: Any, other: Any) -> bool:
    """Whether two colours are the same but for what JPEG does to them."""
    return all(abs(a - b) <= 12 for a, b in zip(colour, other, strict=True))


PHOTO = as_file(halves())


def exif(orientation=1):
    made = Image.Exif()
    made[274] = orientation
    made[271] = "SECRETMAKER"
    made.get_ifd(0x8825)[2] = (47.0, 22.0, 30.0)
    made.get_ifd(0x8825)[1] = "N"
    return made


def photo_row(discharge_id: int, caption: str) -> PhotoRow:
    """The photo as it is kept, byte for byte."""
    digest = hashlib.sha256(PHOTO).hexdigest()
    return PhotoRow(
        discharge_id=discharge_id,
        caption=caption,
        added_at=NOW,
        width=80,
        height=40,
        sha256=digest,
        jpeg=PHOTO,
    )

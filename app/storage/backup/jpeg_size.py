"""What a JPEG says of its own size, read without drawing it."""

import struct

_START, _END = b"\xff\xd8", b"\xff\xd9"
# Start of frame, whatever the coding; C4, C8 and CC mean something else.
_FRAMES = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}
_SCAN = 0xDA


def jpeg_size(data: bytes) -> tuple[int, int] | None:
    """Width and height by the frame header (ITU-T T.81, B.2.2); None where it is no whole JPEG."""
    if not (data.startswith(_START) and data.endswith(_END)):
        return None
    at = len(_START)
    while at + 9 <= len(data) and data[at] == 0xFF and data[at + 1] != _SCAN:
        if data[at + 1] in _FRAMES:
            height, width = struct.unpack_from(">HH", data, at + 5)
            return width, height
        at += 2 + max(2, int.from_bytes(data[at + 2 : at + 4], "big"))
    return None

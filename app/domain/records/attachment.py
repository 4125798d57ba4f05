"""The original file of a test, kept as evidence."""

from dataclasses import dataclass

UPLOAD_LIMIT_MB = 64


@dataclass(frozen=True)
class Attachment:
    """What is known of a kept file; its bytes are loaded when they are asked for."""

    id: int
    discharge_id: int
    name: str
    sha256: str
    size: int

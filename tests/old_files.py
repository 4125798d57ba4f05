"""Real data files of every schema that was released; none of them ever changes."""

import gzip
from pathlib import Path

RELEASED = Path(__file__).parent / "storage" / "released"


def unpacked(name: str, target: Path) -> Path:
    """A released data file, laid where it is asked for."""
    target.write_bytes(gzip.decompress((RELEASED / name).read_bytes()))
    return target

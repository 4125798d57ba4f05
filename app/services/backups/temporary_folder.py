"""Folders of the demo, the example and a restore: gone with the process that made them.

A process that is killed cannot tidy up, so the next start does it. Whether a folder's process
lives is told by a lock that the system lets go of however it ends: a number of a process may have
been given to another one meanwhile.
"""

import os
import shutil
import stat
import sys
import tempfile
from pathlib import Path
from typing import IO

DEMO, EXAMPLE, RESTORING = "fadeline-demo-", "fadeline-example-", "restoring-"
MARK = "in-use"


class TemporaryFolder:
    """A folder in the system's place for temporary ones, or in the one that is named, locked until
    it is thrown away. Raises OSError."""

    def __init__(self, prefix: str, parent: Path | None = None) -> None:
        # A page of it may still be read while it is thrown away, which some systems do not allow.
        self._folder = tempfile.TemporaryDirectory(
            prefix=prefix, dir=parent, ignore_cleanup_errors=True
        )
        self.path = Path(self._folder.name)
        self._lock = _locked_mark(self.path)

    def throw_away(self) -> None:
        self._lock.close()
        self._folder.cleanup()

    def __enter__(self) -> Path:
        return self.path

    def __exit__(self, *_: object) -> None:
        self.throw_away()


def remove_left_behind(parent: Path | None = None, *prefixes: str) -> list[Path]:
    """Remove folders whose process was killed, by default those of demos and examples.

    Returns those that are gone.

    Only folders of our names that belong to this user and carry a mark which nobody holds.
    """
    removed = []
    for folder in _own_folders(parent or Path(tempfile.gettempdir()), prefixes or (DEMO, EXAMPLE)):
        if _is_left_behind(folder):
            shutil.rmtree(folder, ignore_errors=True)
            removed.append(folder)
    return removed


def _own_folders(parent: Path, prefixes: tuple[str, ...]) -> list[Path]:
    try:
        found = sorted(parent.iterdir())
    except OSError:
        return []
    return [path for path in found if path.name.startswith(prefixes) and _is_own(path)]


def _is_own(path: Path) -> bool:
    """Whether it is a folder of this user, and no link to one."""
    try:
        about = path.lstat()
    except OSError:
        return False
    return stat.S_ISDIR(about.st_mode) and (os.name != "posix" or about.st_uid == os.getuid())


def _is_left_behind(folder: Path) -> bool:
    """A folder without a mark, or with an empty one, is only just being made, or none of ours."""
    mark = folder / MARK
    try:
        about = mark.lstat()
        if not stat.S_ISREG(about.st_mode) or not about.st_size:
            return False
        with mark.open("r+b") as opened:
            _lock(opened)
    except OSError:
        return False
    return True


def _locked_mark(folder: Path) -> IO[bytes]:
    """The mark says something once it is locked: whoever sees that can tell whether it is held."""
    opened = (folder / MARK).open("w+b")
    _lock(opened)
    opened.write(b"held\n")
    opened.flush()
    return opened


if sys.platform == "win32":
    import msvcrt

    def _lock(opened: IO[bytes]) -> None:
        """Lock a file while it is open. Raises OSError where another process holds it."""
        msvcrt.locking(opened.fileno(), msvcrt.LK_NBLCK, 1)

else:
    import fcntl

    def _lock(opened: IO[bytes]) -> None:
        """Lock a file while it is open. Raises OSError where another process holds it."""
        fcntl.flock(opened, fcntl.LOCK_EX | fcntl.LOCK_NB)

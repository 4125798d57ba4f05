"""Where the log goes and what stands in it."""

import logging
import os
import sys
import time
from enum import StrEnum

from app.server.terminal import PrintableFormatter


class LogLevel(StrEnum):
    """How much is logged; a line a request stands at INFO."""

    DEBUG = "debug"
    INFO = "info"
    WARNING = "warning"
    ERROR = "error"


# What libraries say of their own work may hold what was sent; of the server it is connections only.
OURS = ("fadeline", "uvicorn")


class JournalFormatter(PrintableFormatter):
    """Gives each line its priority, as systemd reads it (sd-daemon(3))."""

    def format(self, record: logging.LogRecord) -> str:
        # syslog(3): 3 is an error, 4 a warning, 6 information, 7 for debugging.
        level = record.levelno
        number = 3 if level >= logging.ERROR else 4 if level >= logging.WARNING else 6
        priority = f"<{number if level >= logging.INFO else 7}>"
        return priority + super().format(record).replace("\n", f"\n{priority}")


def set_up_logs(level: LogLevel) -> None:
    """Log to standard error, in UTC."""
    written = JournalFormatter if _goes_to_the_journal() else PrintableFormatter
    formatter = written("%(asctime)sZ %(levelname)s %(message)s", "%Y-%m-%dT%H:%M:%S")
    formatter.converter = time.gmtime
    handler = logging.StreamHandler()
    handler.setFormatter(formatter)
    logging.basicConfig(level=logging.WARNING, handlers=[handler], force=True)
    for name in OURS:
        logging.getLogger(name).setLevel(level.upper())


def _goes_to_the_journal() -> bool:
    """Whether standard error is what systemd connected to its journal (systemd.exec(5))."""
    try:
        about = os.fstat(sys.stderr.fileno())
    except (OSError, ValueError):
        return False
    return os.environ.get("JOURNAL_STREAM") == f"{about.st_dev}:{about.st_ino}"

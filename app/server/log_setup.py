"""Where the log goes and what stands in it."""

import logging
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


def set_up_logs(level: LogLevel) -> None:
    """Log to standard error, in UTC."""
    formatter = PrintableFormatter("%(asctime)sZ %(levelname)s %(message)s", "%Y-%m-%dT%H:%M:%S")
    formatter.converter = time.gmtime
    handler = logging.StreamHandler()
    handler.setFormatter(formatter)
    logging.basicConfig(level=logging.WARNING, handlers=[handler], force=True)
    for name in OURS:
        logging.getLogger(name).setLevel(level.upper())

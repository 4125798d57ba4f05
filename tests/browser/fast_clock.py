"""Serve with a clock that a test moves: python -m tests.browser.fast_clock DATA PORT CLOCKFILE

The clock file holds the present moment as an ISO time; it is read again for every request.
"""

import sys
from datetime import datetime
from pathlib import Path

import uvicorn

from app.server.application import create_app
from app.settings import Settings


def main(data: str, port: str, clock_file: str) -> None:
    app = create_app(Settings(data_dir=Path(data), port=int(port)))
    app.state.clock = lambda: datetime.fromisoformat(Path(clock_file).read_text())
    uvicorn.run(app, host="127.0.0.1", port=int(port), log_level="error")


if __name__ == "__main__":
    main(*sys.argv[1:4])

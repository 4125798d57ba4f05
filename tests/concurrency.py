"""What runs beside a test: threads that begin at once, and other processes."""

import os
import subprocess
import sys
import threading
from collections.abc import Callable
from typing import Any

from app.settings import ROOT

OURS = {"PYTHONPATH": str(ROOT)}


def at_once(*calls: Callable[[], object]) -> list[Exception | None]:
    """How each of the calls ended, all begun at once: its error, or None."""
    ended: list[Exception | None] = [None] * len(calls)

    def run(number: int, call: Callable[[], object]) -> None:
        try:
            call()
        except Exception as error:
            ended[number] = error

    threads = [threading.Thread(target=run, args=pair) for pair in enumerate(calls)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return ended


def process(code: str, *words: object, **more: Any) -> subprocess.Popen[str]:
    """Code in another process, with the words as its arguments."""
    told = {"cwd": ROOT, "env": os.environ | OURS, "text": True, "stdout": subprocess.PIPE} | more
    return subprocess.Popen([sys.executable, "-c", code, *map(str, words)], **told)


def run_through(code: str, *words: object) -> tuple[int, str, str]:
    """Code in another process until it ends: how it ended, what it said, and its errors."""
    with process(code, *words, stderr=subprocess.PIPE) as running:
        said, errors = running.communicate()
    return running.returncode, said, errors

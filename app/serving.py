"""Running the server: the port, the data folder, the browser."""

import contextlib
import signal
import socket
import tempfile
import threading
import webbrowser
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from types import FrameType

import typer
import uvicorn

from app.backup_timer import BackupTimer
from app.domain.errors import FadelineError
from app.main import create_app
from app.services.demo import fill_with_demo
from app.services.store import Store, in_use
from app.settings import Settings
from app.storage.engine import shown_address


def run_server(
    *, demo: bool, host: str, port: int, data_dir: Path | None, open_browser: bool
) -> None:
    """Serve until interrupted. Raises FadelineError for a port in use and trouble with the data."""
    settings = Settings(demo=demo, host=host, port=port)
    if data_dir is not None:
        settings = replace(settings, data_dir=data_dir)
    # Told to end, the server raises the signal again when it is done, and by default that would
    # skip everything below: the demo's folder would stay, and half a backup.
    signal.signal(signal.SIGTERM, _leave)
    # The port first: a second start must not touch the data of the first.
    listening = _bind(host, port)
    with listening, _folder(settings) as settings:
        application = create_app(settings)
        if demo:
            fill_with_demo(application.state.store)
        shown = "127.0.0.1" if host in ("0.0.0.0", "") else host  # noqa: S104
        address = f"http://{f'[{shown}]' if ':' in shown else shown}:{port}/"
        typer.echo(f"Fadeline is at {address} (Ctrl+C stops it)")
        if not demo:
            typer.echo(f"Data: {shown_address(settings.address)}")
        if host not in ("127.0.0.1", "localhost", "::1"):
            typer.echo("Other devices can open shared links only.")
        config = uvicorn.Config(application, log_level="warning", lifespan="off")
        server = uvicorn.Server(config)
        if open_browser:
            threading.Timer(0.5, webbrowser.open, (address,)).start()
        store, example = application.state.store, application.state.example
        with contextlib.closing(example), in_use(store), _backing_up(store, settings):
            server.run(sockets=[listening])


def _leave(_signal: int, _frame: FrameType | None) -> None:
    raise SystemExit(0)


def _backing_up(store: Store, settings: Settings) -> contextlib.AbstractContextManager[object]:
    """Backups meanwhile; not of the demo, which is thrown away, nor of a database."""
    if settings.demo or store.on_server:
        return contextlib.nullcontext()
    return BackupTimer(store)


@contextlib.contextmanager
def _folder(settings: Settings) -> Iterator[Settings]:
    """The data folder; the demo gets one of its own that is thrown away."""
    if not settings.demo:
        yield settings
        return
    with tempfile.TemporaryDirectory(prefix="fadeline-demo-") as folder:
        yield replace(settings, data_dir=Path(folder), database_url="")


def _bind(host: str, port: int) -> socket.socket:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    # The protocol is named: the event loop switches Nagle's delay off for such sockets only, and
    # every answer would take 40 ms longer.
    listening = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    # Without it a restart would have to wait for old connections to time out.
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((host, port))
        listening.listen(128)
    except OSError as error:
        listening.close()
        raise FadelineError(
            f"Port {port} on {host} cannot be used ({error.strerror}); choose another with --port."
        ) from error
    return listening

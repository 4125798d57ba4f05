"""Running the server: the port, the data folder, the browser."""

import contextlib
import signal
import threading
import webbrowser
from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from types import FrameType
from urllib.parse import urlsplit

from app.domain.errors import FadelineError, InvalidInput
from app.server.application import create_app
from app.server.backup_scheduler import BackupTimer
from app.server.list_filler import ListFiller
from app.server.listening import bound, make_server
from app.server.log_setup import LogLevel, set_up_logs
from app.server.network_application import close_listeners
from app.server.terminal import echo
from app.services.access.auth import has_passphrase
from app.services.access.shares import store_views
from app.services.backups.temporary_folder import (
    DEMO,
    RESTORING,
    TemporaryFolder,
    remove_left_behind,
)
from app.services.example.demo import fill_with_demo
from app.services.store import Store, in_use
from app.settings import LOOPBACK, Settings, given_database_url
from app.storage.database.engine import shown_address
from app.web.rendering.rendering import moment_of


def run_server(
    settings: Settings, *, open_browser: bool, log_level: LogLevel = LogLevel.INFO
) -> None:
    """Serve until interrupted. Raises FadelineError for a port in use, trouble with the data, and
    a door without a lock."""
    # Told to end, the server raises the signal again when it is done, and by default that would
    # skip everything below: the demo's folder would stay, and half a backup.
    signal.signal(signal.SIGTERM, _leave)
    # The port first: a second start must not touch the data of the first.
    listening = bound(settings.host, settings.port)
    remove_left_behind()
    if not settings.demo:
        remove_left_behind(settings.data_dir, RESTORING)
    with listening, _folder(settings) as settings, contextlib.ExitStack() as at_last:
        application = create_app(settings)
        at_last.callback(application.state.store.engine.dispose)
        store, example = application.state.store, application.state.example
        _need_passphrase(settings, store)
        if settings.demo:
            fill_with_demo(store)
        address = _say_where(settings)
        set_up_logs(log_level)
        if open_browser:
            threading.Timer(0.5, webbrowser.open, (address,)).start()
        with (
            contextlib.closing(example),
            in_use(store),
            _backing_up(store, settings),
            ListFiller(store, partial(moment_of, application)),
            contextlib.ExitStack() as doors,
        ):
            doors.callback(close_listeners, application)
            make_server(application).run(sockets=[listening])
            store_views(store)


def check_public_address(text: str) -> str:
    """An origin as browsers write it: scheme and host, a port if it is an unusual one.

    Raises InvalidInput.
    """
    given = text.strip().rstrip("/").lower()
    try:
        parts = urlsplit(given)
        usual = {"https": 443, "http": 80}.get(parts.scheme)
        fine = usual is not None and bool(parts.hostname) and parts.port != usual
        fine = fine and given == f"{parts.scheme}://{parts.netloc}" and "@" not in parts.netloc
    except ValueError:
        fine = False
    if given and not (fine and given.isascii() and given.isprintable() and " " not in given):
        raise InvalidInput.because("public address", text, "one such as https://club.example")
    return given


def _need_passphrase(settings: Settings, store: Store) -> None:
    """Raises FadelineError where other devices could reach a door that has no lock."""
    if settings.demo:
        if settings.public_address:
            raise FadelineError("The invented demo has no owner to sign in: leave out --demo.")
        return
    wide = settings.host not in LOOPBACK or settings.public_address
    if wide and not has_passphrase(store):
        raise FadelineError(
            "Other devices can reach this Fadeline only once it has a passphrase, and "
            f"{shown_address(settings.address)} has none. Set one with “fadeline passphrase”, with "
            "the same --data, FADELINE_DATA and FADELINE_DATABASE_URL, or start it without --host "
            "and --public-address and set it under “Who gets in”."
        )


def _say_where(settings: Settings) -> str:
    """Say where it is and who gets in; returns the address for a browser here."""
    host = settings.host
    shown = "127.0.0.1" if host in ("0.0.0.0", "") else host  # noqa: S104
    address = f"http://{f'[{shown}]' if ':' in shown else shown}:{settings.port}/"
    echo(f"Fadeline is at {settings.public_address or address} (Ctrl+C stops it)")
    if not settings.demo:
        passed_over = bool(given_database_url()) and not settings.database_url
        more = " (--data goes before FADELINE_DATABASE_URL)" if passed_over else ""
        echo(f"Data: {shown_address(settings.address)}{more}")
    if settings.public_address:
        wide = host not in LOOPBACK
        at = f"port {settings.port} of every address" if shown != host else address
        echo(f"It listens at {at} for the proxy; everybody signs in.")
        if wide:
            echo("Others can get there past the proxy, unencrypted; without --host they cannot.")
    elif host not in LOOPBACK:
        more = "" if settings.demo else ", and after signing in the owner's pages"
        echo(f"Other devices can open shared links{more}. Nothing is encrypted on the way.")
    return settings.public_address or address


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
    with TemporaryFolder(DEMO) as folder:
        yield replace(settings, data_dir=folder, database_url="")

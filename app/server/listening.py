"""A port of this machine, and the server that answers there."""

import socket

from starlette.types import ASGIApp
from uvicorn import Config, Server

from app.domain.errors import FadelineError
from app.server.header_timeout import MAX_CONNECTIONS, ImpatientProtocol

# A stop waits so long for what is under way, such as a large file over a slow line.
FINISH_WITHIN_S = 60


def make_server(application: ASGIApp) -> Server:
    """The server. Told to end, it takes no more requests and finishes those under way."""
    return Server(
        Config(
            application,
            http=ImpatientProtocol,
            ws="none",
            lifespan="off",
            log_config=None,
            access_log=False,
            server_header=False,
            # Who asks is decided in app/web/entry.py, which believes no header.
            proxy_headers=False,
            # Further ones are told to come back (503).
            limit_concurrency=MAX_CONNECTIONS + 1,
            timeout_graceful_shutdown=FINISH_WITHIN_S,
        )
    )


def bound(host: str, port: int) -> socket.socket:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    # The protocol is named: the event loop switches Nagle's delay off for such sockets only, and
    # every answer would take 40 ms longer.
    listening = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    if hasattr(socket, "SO_EXCLUSIVEADDRUSE"):
        # On Windows the option below would let two programs share one port.
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_EXCLUSIVEADDRUSE, 1)
    else:
        # Without it a restart would have to wait for old connections to time out.
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((host, port))
        listening.listen(128)
    except OSError as error:
        listening.close()
        why = (
            "Ports below 1024 need special rights; choose another one with --port."
            if isinstance(error, PermissionError)
            else "Perhaps Fadeline runs there already; else choose another port with --port."
        )
        said = f"Port {port} on {host} cannot be used ({error.strerror}). {why}"
        raise FadelineError(said) from error
    return listening

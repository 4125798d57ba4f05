"""From where this server can be reached, and by which address."""

import socket

from fastapi import Request

from app.settings import LOOPBACK
from app.web.rendering.rendering import path_to, settings_of
from app.web.request import bare_host, host_of

_EVERYWHERE = ("0.0.0.0", "::", "")  # noqa: S104


def listens_alone(request: Request) -> bool:
    """Whether other devices cannot reach this server at all."""
    settings = settings_of(request)
    return settings.host in LOOPBACK and not settings.public_address


def address_for_others(request: Request, name: str, **path: str) -> str:
    """The address of a page as another device on the network would open it."""
    path_only = path_to(request, name, **path)
    public = settings_of(request).public_address
    if public:
        return public + path_only
    scheme, named = request.scope["scheme"], host_of(request.scope)
    local = f"{scheme}://{named}{path_only}"
    host = settings_of(request).host
    if listens_alone(request):
        return local
    shown = own_address() if host in _EVERYWHERE else host
    if shown is None:
        return local
    port = named.removeprefix(bare_host(named))
    return f"{scheme}://{f'[{shown}]' if ':' in shown else shown}{port}{path_only}"


def own_address() -> str | None:
    """This machine's address on its network, None where it has none.

    Connecting a datagram socket sends nothing; it only asks which way it would go.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))
        except OSError:
            return None
        return str(probe.getsockname()[0])

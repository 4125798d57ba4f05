"""From where this server can be reached, and by which address."""

from dataclasses import dataclass

from fastapi import Request

from app.domain.network import NetworkAddress, OpenNetwork
from app.settings import LOOPBACK
from app.web.rendering.open_doors import DoorKind, network_of
from app.web.rendering.rendering import path_to, settings_of
from app.web.request import bare_host, host_of

_EVERYWHERE = ("0.0.0.0", "::", "")  # noqa: S104
# What others open without being the owner, and so by what is open to all on the network.
_SHARED = "shared"


@dataclass(frozen=True)
class Nearby:
    """What a page says of the network: whether a door can be opened there, where, and what is
    open. An address that the machine has lost leads nobody here, although it is open."""

    may_open: bool
    addresses: tuple[NetworkAddress, ...]
    opened: OpenNetwork | None


def nearby(request: Request, kind: DoorKind = DoorKind.SHARED) -> Nearby:
    """The network as it is at this moment, for one of the doors to it."""
    network = network_of(request.app, kind)
    if network is None or not may_open(request):
        return Nearby(False, (), None)
    return Nearby(True, tuple(network.addresses()), network.opened)


def may_open(request: Request) -> bool:
    """Whether there is anything to open: nothing of the example, nothing that is open already."""
    settings = settings_of(request)
    return not settings.example and _is_bound_to_machine(request)


def opened_to_others(request: Request) -> OpenNetwork | None:
    """By what others on the network open a shared link at this moment; None where by nothing."""
    return _opened_for(request, _SHARED)


def listens_alone(request: Request) -> bool:
    """Whether other devices cannot reach a shared link at all."""
    return _is_bound_to_machine(request) and opened_to_others(request) is None


def address_for_others(request: Request, name: str, **path: str) -> str:
    """The address of a page as another device on the network would open it."""
    path_only = path_to(request, name, **path)
    public = settings_of(request).public_address
    if public:
        return public + path_only
    opened = _opened_for(request, name)
    if opened is not None:
        return opened.base + path_only
    scheme, named = request.scope["scheme"], host_of(request.scope)
    local = f"{scheme}://{named}{path_only}"
    if _is_bound_to_machine(request):
        return local
    host = settings_of(request).host
    shown = _likely_address(request) if host in _EVERYWHERE else host
    if shown is None:
        return local
    port = named.removeprefix(bare_host(named))
    return f"{scheme}://{f'[{shown}]' if ':' in shown else shown}{port}{path_only}"


def _is_bound_to_machine(request: Request) -> bool:
    settings = settings_of(request)
    return settings.host in LOOPBACK and not settings.public_address


def _opened_for(request: Request, name: str) -> OpenNetwork | None:
    """What is open on the network and answers to this page there; nothing does of the example."""
    if settings_of(request).example:
        return None
    for kind in (DoorKind.SHARED, DoorKind.OWNER) if name == _SHARED else (DoorKind.OWNER,):
        network = network_of(request.app, kind)
        opened = None if network is None else network.opened
        if opened is not None and opened.there:
            return opened
    return None


def _likely_address(request: Request) -> str | None:
    """This machine's address on its network, None where it has none."""
    network = network_of(request.app)
    known = () if network is None else network.addresses()
    return known[0].address if known else None

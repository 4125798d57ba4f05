"""Who may ask the application on the network: everybody, by its own address, and nobody as owner.

There is nothing of the owner's to ask for. What is left to refuse is a foreign name that points
here, and a write that another site sends.
"""

import ipaddress

from starlette.requests import Request
from starlette.responses import Response
from starlette.types import Scope

from app.domain.errors import truncate
from app.domain.i18n.message import say
from app.web.rendering.error_pages import plain_page
from app.web.request import OWNER, SECRET, host_of
from app.web.security.cross_site import cross_site


class NetworkDoor:
    """The door of the application on the network.

    Routes with a guard of their own decide by it who may ask them; nobody is the owner here.
    """

    async def turned_away(self, scope: Scope) -> Response | None:
        scope[OWNER], scope[SECRET] = False, ""
        request, named = Request(scope), host_of(scope)
        if not _names_this_server(scope, named):
            words = say("Fadeline does not answer to the name “{named}”.", named=truncate(named))
            return plain_page(request, 403, say("Not open to you"), words)
        refusal = cross_site(scope, must_say=True)
        return plain_page(request, 403, say("Not open to you"), refusal) if refusal else None


def _names_this_server(scope: Scope, named: str) -> bool:
    """Whether the Host header is the very address and port that the connection came to."""
    server = scope.get("server")
    if server is None or server[1] is None:
        return False
    host, _, port = named.rpartition(":")
    if not host or port.endswith("]"):
        host, port = named, "80"
    return port == str(server[1]) and _plain(host) == _plain(server[0])


def _plain(host: str) -> str:
    """An IP address as all write it; a name as it is."""
    bare = host.removeprefix("[").removesuffix("]").lower()
    try:
        return str(ipaddress.ip_address(bare))
    except ValueError:
        return bare

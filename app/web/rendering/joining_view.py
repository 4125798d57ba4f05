"""What the page of a running test says of phones: how many joined, and a code for one more."""

from dataclasses import dataclass
from datetime import datetime

from fastapi import Request

from app.services.access import joining
from app.services.access.joining import ShownCode
from app.web.rendering.open_doors import network_of
from app.web.rendering.rendering import now_of, settings_of, store_of
from app.web.request import OWNER

ARRIVAL = "/joined/{run_id}/join/{code}"
CODE_BORDER, CODE_SCALE = 4, 5


@dataclass(frozen=True)
class CodeToScan:
    """A code, shown once: its address, the picture to scan, and when it ends."""

    address: str
    picture: str
    ends_at: datetime


@dataclass(frozen=True)
class JoiningView:
    """What _partials/joining.html needs. public is where a phone signs in instead,
    empty where it joins. is_shut says that no phone that joined gets here, because nothing is open
    on the network: the program was ended and started again, say."""

    phones: int
    code: CodeToScan | None
    public: str
    is_shut: bool = False


def joining_view(request: Request, run_id: int, shown: CodeToScan | None) -> JoiningView | None:
    """None where no phone can join: in the example, and on a phone that joined."""
    settings = settings_of(request)
    if settings.example or not request.scope.get(OWNER):
        return None
    phones = joining.list_phones(store_of(request), now_of(request), run_id)
    network = network_of(request.app)
    is_shut = bool(phones) and network is not None and network.opened is None
    return JoiningView(len(phones), shown, settings.public_address, is_shut)


def code_to_scan(base: str, run_id: int, shown: ShownCode) -> CodeToScan:
    """The code as an address below base, and drawn (ISO/IEC 18004).

    The picture is part of the page: the code is kept nowhere that it could be drawn from later.
    """
    address = base + ARRIVAL.format(run_id=run_id, code=shown.code)
    import segno  # here, because few starts need it

    picture = segno.make_qr(address, error="m").svg_data_uri(
        border=CODE_BORDER, scale=CODE_SCALE, light="#ffffff"
    )
    return CodeToScan(address, picture, shown.ends_at)

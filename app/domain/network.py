"""The network that this machine is in: its addresses, and what is open there."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Protocol

from app.domain.i18n.marks import N_
from app.domain.i18n.message import say


class AddressKind(StrEnum):
    """What an address belongs to, the likely ones for a fellow's phone first."""

    WIFI = "wifi"
    CABLE = "cable"
    OTHER = "other"
    TUNNEL = "tunnel"
    VIRTUAL = "virtual"

    @property
    def label(self) -> str:
        return say(_KIND_LABELS[self])


_KIND_LABELS = {
    AddressKind.WIFI: N_("Wi-Fi"),
    AddressKind.CABLE: N_("cable"),
    AddressKind.OTHER: N_("network"),
    AddressKind.TUNNEL: N_("tunnel"),
    AddressKind.VIRTUAL: N_("inside this machine"),
}


@dataclass(frozen=True)
class NetworkAddress:
    """An IP address of this machine, what it belongs to and what the system calls that."""

    address: str
    kind: AddressKind
    adapter: str = ""


@dataclass(frozen=True)
class OpenNetwork:
    """What is open on the network: base is the address before any path, such as
    http://192.168.1.5:8766. there says whether the machine still has the address."""

    base: str
    address: str
    until: datetime
    there: bool = True


class Network(Protocol):
    """The second door of a running Fadeline, which others on the network may use."""

    @property
    def opened(self) -> OpenNetwork | None:
        """What is open; None while nothing is."""

    @property
    def has_phones(self) -> bool:
        """Whether a phone is in a running test, or may join one: it stays open past its time."""

    def addresses(self) -> Sequence[NetworkAddress]:
        """Where it could be opened, the likely address first."""

    def open(self, address: str, until: datetime) -> OpenNetwork:
        """Open it there, and nowhere else any more.

        Raises InvalidInput for an address that is not this machine's, and FadelineError where the
        system lets nobody listen there.
        """

    def look(self) -> None:
        """Close it where its time is up or nothing is left that others may open, and see whether
        the machine still has the address. It is looked by itself every few seconds."""

    def close(self) -> None:
        """Close it at once, with its connections; nothing where it is closed."""

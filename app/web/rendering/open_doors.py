"""What is open on the network, as every page of the owner says it."""

from dataclasses import dataclass
from enum import StrEnum

from fastapi import FastAPI

from app.domain.network import Network, OpenNetwork


class DoorKind(StrEnum):
    """Who gets in by a door on the network: everybody to shared links, or the owner to all."""

    SHARED = "shared"
    OWNER = "owner"


@dataclass(frozen=True)
class OpenDoor:
    """A door that is open: who gets in there, where and until when; joined says that a phone is in
    a running test, or may join one, which keeps it open."""

    kind: DoorKind
    opened: OpenNetwork
    joined: bool


def network_of(app: FastAPI, kind: DoorKind = DoorKind.SHARED) -> Network | None:
    """What opens this door on the network; None where nothing does."""
    name = "network" if kind is DoorKind.SHARED else "owners_network"
    found: Network | None = getattr(app.state, name, None)
    return found


def open_doors(app: FastAPI) -> tuple[OpenDoor, ...]:
    """Every door that is open at this moment."""
    doors = []
    for kind in DoorKind:
        network = network_of(app, kind)
        if network is not None and network.opened is not None:
            doors.append(OpenDoor(kind, network.opened, network.has_phones))
    return tuple(doors)

"""The addresses of this machine, the one that others on its network most likely reach first."""

import ipaddress
import re
import socket
from collections.abc import Iterable
from pathlib import Path

import ifaddr

from app.domain.network import AddressKind, NetworkAddress

# What Linux says of each of its adapters (Documentation/ABI/testing/sysfs-class-net).
SYSFS = Path("/sys/class/net")
# How other systems call theirs (common practice).
_BY_NAME = (
    (
        AddressKind.VIRTUAL,
        r"virtual|hyper-v|vmware|vethernet|^(bridge|br[-0-9]|virbr|vmnet|vmenet|veth|docker)",
    ),
    (AddressKind.TUNNEL, r"tunnel|vpn|wireguard|^(utun|tun|tap|ppp|ipsec|wg)"),
    (AddressKind.WIFI, r"wi-?fi|wireless|wlan|802\.11|^wl"),
    (AddressKind.CABLE, r"ethernet|gbe|\blan\b|^eth"),
)
_ORDER = tuple(AddressKind)


def own_addresses() -> tuple[NetworkAddress, ...]:
    """Every address by which a browser elsewhere can reach this machine, the likely one first.

    Those are the addresses of IPv4, and those of IPv6 where an adapter has no other. A link-local
    one of IPv6 is left out: it needs a zone, which browsers take in no address (WHATWG URL).
    """
    default = default_address()
    try:
        adapters = list(ifaddr.get_adapters())
    except OSError:
        # A service may be forbidden to list them (AF_NETLINK on Linux).
        return () if default is None else (NetworkAddress(default, AddressKind.OTHER),)
    found = []
    for adapter in adapters:
        name = adapter.nice_name
        of_adapter = [one for one in map(_usable, adapter.ips) if one is not None]
        with_4 = [one for one in of_adapter if one.version == 4]
        kind = kind_of(name)
        found += [NetworkAddress(str(one), kind, name) for one in with_4 or of_adapter]
    return in_order(found, default)


def in_order(found: Iterable[NetworkAddress], default: str | None) -> tuple[NetworkAddress, ...]:
    """The likely one first: an address that was given by nobody (169.254) is hardly it, and of one
    kind the one by which this machine reaches others."""
    return tuple(
        sorted(
            dict.fromkeys(found),
            key=lambda one: (
                ipaddress.ip_address(one.address).is_link_local,
                _ORDER.index(one.kind),
                one.address != default,
            ),
        )
    )


def kind_of(name: str) -> AddressKind:
    """What an adapter is: by what Linux says of it, elsewhere by its name."""
    folder = SYSFS / name
    if name and "/" not in name and folder.is_dir():
        return _kind_on_linux(folder)
    for kind, words in _BY_NAME:
        if re.search(words, name, re.IGNORECASE):
            return kind
    return AddressKind.OTHER


def _kind_on_linux(folder: Path) -> AddressKind:
    if (folder / "tun_flags").exists() or _is_point_to_point(folder):
        return AddressKind.TUNNEL
    # A bridge or a bond stands for what lies below it, where that is a real adapter.
    for real in (folder, *folder.glob("lower_*")):
        if (real / "wireless").exists() or (real / "phy80211").exists():
            return AddressKind.WIFI
        if (real / "device").exists():
            return AddressKind.CABLE
    return AddressKind.VIRTUAL


def _is_point_to_point(folder: Path) -> bool:
    """IFF_POINTOPOINT of linux/if.h."""
    try:
        return bool(int((folder / "flags").read_text(), 16) & 0x10)
    except (OSError, ValueError):
        return False


def _usable(given: ifaddr.IP) -> ipaddress.IPv4Address | ipaddress.IPv6Address | None:
    text = given.ip if isinstance(given.ip, str) else given.ip[0]
    try:
        address = ipaddress.ip_address(text)
    except ValueError:
        return None
    if address.is_loopback or address.is_multicast or address.is_unspecified:
        return None
    return None if address.version == 6 and address.is_link_local else address


def default_address() -> str | None:
    """The address by which this machine reaches others, None where it reaches nobody.

    Connecting a datagram socket sends nothing; it only asks which way it would go. The addresses
    are those that documents use, so they are nobody's (RFC 5737, RFC 3849).
    """
    for family, elsewhere in ((socket.AF_INET, "192.0.2.1"), (socket.AF_INET6, "2001:db8::1")):
        try:
            with socket.socket(family, socket.SOCK_DGRAM) as probe:
                probe.connect((elsewhere, 9))
                return str(probe.getsockname()[0])
        except OSError:
            continue
    return None

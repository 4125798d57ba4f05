"""The addresses of this machine: real ones, and those of machines that are none of ours."""

import socket

import ifaddr
import pytest

from app.domain.network import AddressKind, NetworkAddress
from app.server import own_addresses as finding
from app.server.own_addresses import in_order, kind_of, own_addresses

pytestmark = pytest.mark.any_database


def test_at_each_address_that_is_found_this_machine_can_listen():
    for one in own_addresses():
        family = socket.AF_INET6 if ":" in one.address else socket.AF_INET
        with socket.create_server((one.address, 0), family=family) as listening:
            assert listening.getsockname()[0] == one.address


def test_the_addresses_are_those_by_which_others_can_come(monkeypatch):
    def adapter(name, *ips):
        return ifaddr.Adapter(name, name, [ifaddr.IP(ip, 24, name) for ip in ips])

    adapters = [
        adapter("lo", "127.0.0.1", ("::1", 0, 0)),
        adapter("docker0", "172.17.0.1"),
        adapter("wlan0", "192.168.1.5", ("fe80::1", 0, 3), ("2001:db8::5", 0, 0)),
        adapter("en7", ("fe80::2", 0, 4), ("2001:db8::7", 0, 0)),
        adapter("eth1", "169.254.7.7"),
    ]
    monkeypatch.setattr(finding, "SYSFS", finding.Path("/nowhere"))
    monkeypatch.setattr(ifaddr, "get_adapters", lambda: adapters)
    assert [(one.address, one.kind) for one in own_addresses()] == [
        ("192.168.1.5", AddressKind.WIFI),
        ("2001:db8::7", AddressKind.OTHER),
        ("172.17.0.1", AddressKind.VIRTUAL),
        ("169.254.7.7", AddressKind.CABLE),
    ]


def test_where_the_system_lists_no_adapter_the_address_that_leads_out_is_left(monkeypatch):
    def forbidden():
        raise OSError(97, "Address family not supported by protocol")

    monkeypatch.setattr(ifaddr, "get_adapters", forbidden)
    monkeypatch.setattr(finding, "default_address", lambda: "192.168.1.5")
    assert own_addresses() == (NetworkAddress("192.168.1.5", AddressKind.OTHER),)
    monkeypatch.setattr(finding, "default_address", lambda: None)
    assert own_addresses() == ()


def test_of_one_kind_the_address_that_leads_out_stands_first():
    found = [NetworkAddress(f"10.0.0.{last}", AddressKind.CABLE) for last in (1, 2, 3)]
    assert [one.address for one in in_order(found, "10.0.0.3")] == [
        "10.0.0.3",
        "10.0.0.1",
        "10.0.0.2",
    ]
    tunnel = NetworkAddress("10.8.0.2", AddressKind.TUNNEL)
    assert in_order([tunnel, *found], "10.8.0.2")[-1] == tunnel


@pytest.mark.parametrize(
    ("made", "kind"),
    [
        ({"wireless/": ""}, AddressKind.WIFI),
        ({"phy80211/": "", "device/": ""}, AddressKind.WIFI),
        ({"device/": "", "flags": "0x1003"}, AddressKind.CABLE),
        ({"tun_flags": "0x1001"}, AddressKind.TUNNEL),
        ({"flags": "0x10d1"}, AddressKind.TUNNEL),
        ({"flags": "0x1003", "brif/": ""}, AddressKind.VIRTUAL),
        ({"lower_veth1/": ""}, AddressKind.VIRTUAL),
        ({"lower_eth0/device/": ""}, AddressKind.CABLE),
        ({"flags": "?"}, AddressKind.VIRTUAL),
    ],
)
def test_linux_says_what_an_adapter_is(tmp_path, monkeypatch, made, kind):
    folder = tmp_path / "wlan0"
    folder.mkdir()
    for name, content in made.items():
        if name.endswith("/"):
            (folder / name).mkdir(parents=True)
        else:
            (folder / name).write_text(content)
    monkeypatch.setattr(finding, "SYSFS", tmp_path)
    assert kind_of("wlan0") is kind


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("Wi-Fi 6 adapter, 160 MHz", AddressKind.WIFI),
        ("Wireless-AC adapter", AddressKind.WIFI),
        ("PCIe GbE Family Controller", AddressKind.CABLE),
        ("Ethernet Connection (7)", AddressKind.CABLE),
        ("Hyper-V Virtual Ethernet Adapter", AddressKind.VIRTUAL),
        ("WireGuard Tunnel", AddressKind.TUNNEL),
        ("en0", AddressKind.OTHER),
        ("utun3", AddressKind.TUNNEL),
        ("bridge100", AddressKind.VIRTUAL),
        ("br-3f5a", AddressKind.VIRTUAL),
        ("Broad-range LAN card", AddressKind.CABLE),
        ("../../etc", AddressKind.OTHER),
        ("", AddressKind.OTHER),
    ],
)
def test_other_systems_are_told_by_the_name_of_the_adapter(monkeypatch, tmp_path, name, kind):
    monkeypatch.setattr(finding, "SYSFS", tmp_path)
    assert kind_of(name) is kind


def test_every_kind_has_words_for_the_page():
    assert len({kind.label for kind in AddressKind}) == len(AddressKind)

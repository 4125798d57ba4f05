"""Phones that join a running test, as the application on the network sees them."""

from datetime import datetime
from urllib.parse import urlsplit

from fastapi import FastAPI
from fastapi.testclient import TestClient

from app.domain.network import AddressKind, NetworkAddress, OpenNetwork
from tests.web.auth_client import away, soup

NETWORK = "http://192.168.1.7:8766"


class FakeNetwork:
    """A listener that opens nothing: tests ask the application on the network themselves."""

    def __init__(self) -> None:
        self.opened: OpenNetwork | None = None
        self.found = [NetworkAddress("192.168.1.7", AddressKind.WIFI)]

    @property
    def has_phones(self) -> bool:
        return self.opened is not None

    def addresses(self) -> list[NetworkAddress]:
        return self.found

    def open(self, address: str, until: datetime) -> OpenNetwork:
        self.opened = OpenNetwork(f"http://{address}:8766", address, until)
        return self.opened

    def close(self) -> None:
        self.opened = None


def phone_of(network: FastAPI, sender: str = "192.168.1.20") -> TestClient:
    """A phone's browser, which joined nothing yet."""
    return away(network, NETWORK, sender, follow_redirects=False)


def code_on(laptop: TestClient, run: str) -> str:
    """The path of a code, as the page shows it on the laptop."""
    address = soup(laptop.post(f"{run}/phones")).select_one("#joining-address code").text
    assert address.startswith(f"{NETWORK}/")
    return urlsplit(address).path


def joined(laptop: TestClient, network: FastAPI, run: str, sender: str = "192.168.1.20"):
    """A phone that scanned a code."""
    phone = phone_of(network, sender)
    assert phone.post(code_on(laptop, run)).status_code == 303
    return phone


def sent(phone: TestClient, path: str, page: str = "", **values: str):
    """A form of the run's page as the phone's browser sends it, with the token on that page."""
    token = soup(phone.get(page or of_phone(path))).select_one("input[name=form_token]")["value"]
    return phone.post(path, data={"form_token": token, **values})


def of_phone(path: str) -> str:
    """The page of the run that a path of the phone belongs to."""
    return "/".join(path.split("/")[:3])

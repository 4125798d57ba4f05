"""Every setting: its name, its default and one sentence."""

import os
from dataclasses import dataclass, field
from pathlib import Path

from platformdirs import user_data_path

_HERE = Path(__file__).resolve().parent
_BUNDLED = _HERE / "_bundled"
# In a wheel the three folders lie inside the package; in a checkout they lie beside it.
ROOT = _BUNDLED if _BUNDLED.is_dir() else _HERE.parent
TEMPLATES, STATIC, MIGRATIONS = (ROOT / name for name in ("templates", "static", "migrations"))

# Addresses that no other device can reach.
LOOPBACK = ("127.0.0.1", "localhost", "::1")
DATABASE_NAME = "fadeline.db"


def default_data_dir() -> Path:
    """FADELINE_DATA where it is set, else the user's data folder."""
    given = os.environ.get("FADELINE_DATA")
    return Path(given) if given else user_data_path("fadeline", appauthor=False)


def given_database_url() -> str:
    """FADELINE_DATABASE_URL; empty where the records lie in the data file."""
    return os.environ.get("FADELINE_DATABASE_URL", "").strip()


@dataclass(frozen=True)
class Settings:
    """Settings of one running Fadeline."""

    data_dir: Path = field(default_factory=default_data_dir)
    """Folder with the data file; made where it does not exist."""

    demo: bool = False
    """Whether what is shown is the invented demo, which every page then says."""

    example: bool = False
    """Whether this demo is the example beside somebody's own records, which can be left."""

    host: str = "127.0.0.1"
    """Address to listen on; anything but this machine itself needs a passphrase."""

    port: int = 8765
    """Port to listen on."""

    public_address: str = ""
    """Origin under which a reverse proxy shows this server, such as https://club.example; with it
    everybody signs in, this machine's own browser too."""

    busy_timeout_ms: int = 5000
    """How long a write waits for another program that holds the data file."""

    database_url: str = field(default_factory=given_database_url, repr=False)
    """Address of a PostgreSQL database to use instead of the data file; it holds a password."""

    @classmethod
    def of_folder(cls, folder: Path) -> "Settings":
        """The data file in a folder that was typed, which goes before every variable."""
        return cls(data_dir=folder, database_url="")

    @property
    def address(self) -> Path | str:
        """Where the records lie: the database where one is given, else the data file."""
        return self.database_url or self.database

    @property
    def may_hold_records(self) -> bool:
        """Whether there is something to look into; a database is there before its tables are."""
        return bool(self.database_url) or self.database.is_file()

    @property
    def https(self) -> bool:
        """Whether others reach this server encrypted."""
        return self.public_address.startswith("https://")

    @property
    def database(self) -> Path:
        return self.data_dir / DATABASE_NAME

    @property
    def staging(self) -> Path:
        """Folder of files that were read but not yet stored as a test."""
        return self.data_dir / "staging"

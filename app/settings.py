"""What the environment says, read once at the start."""

import ipaddress
import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

DEFAULT_PORT = 8421
WEATHER = {
    "met_contact": "WESTERING_MET_CONTACT",
    "met_address": "WESTERING_MET_ADDRESS",
    "openmeteo_key": "WESTERING_OPENMETEO_KEY",
    "openmeteo_address": "WESTERING_OPENMETEO_ADDRESS",
    "airfield_address": "WESTERING_AIRFIELD_ADDRESS",
    "check_hours": "WESTERING_CHECK_HOURS",
}


@dataclass(frozen=True)
class Settings:
    """How this Westering runs.

    ``data`` is the folder for the database, ``database`` a path or URL that
    replaces the file in it. ``host`` is the address to listen on; ``proxied`` says that a
    proxy hands on what comes from elsewhere; ``tls_cert`` and ``tls_key`` are files for
    serving by https. ``weather`` is what the owner set of weather services: texts by the
    names of ``WEATHER``, empty where nothing is set, and then nobody is asked.
    Environment: WESTERING_DATA, WESTERING_DATABASE, WESTERING_HOST, WESTERING_PROXIED
    and those in ``WEATHER``.
    """

    data: Path
    database: str | Path
    host: str = "127.0.0.1"
    port: int = DEFAULT_PORT
    proxied: bool = False
    tls_cert: str | None = None
    tls_key: str | None = None
    weather: Mapping[str, str] = field(default_factory=dict)

    @property
    def closed(self) -> bool:
        """Whether others could reach it, so that the owner's door is closed."""
        return self.proxied or not is_loopback(self.host)

    @classmethod
    def from_environment(
        cls, environment: Mapping[str, str] = os.environ, data: str | None = None, host: str | None = None
    ) -> "Settings":
        """Return the settings; ``data`` and ``host`` from the command line go before the environment's."""
        folder = Path(data or environment.get("WESTERING_DATA") or _default_folder(environment)).expanduser()
        return cls(
            folder,
            environment.get("WESTERING_DATABASE") or folder / "westering.sqlite",
            host or environment.get("WESTERING_HOST") or "127.0.0.1",
            proxied=environment.get("WESTERING_PROXIED", "").lower() in ("1", "yes", "true"),
            weather={name: text for name, variable in WEATHER.items() if (text := environment.get(variable, "").strip())},
        )


def is_loopback(host: str) -> bool:
    """Tell whether an address can be reached from this machine alone."""
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def _default_folder(environment: Mapping[str, str]) -> Path:
    """Return the usual place for a program's data: the XDG base directory, or the home folder's own."""
    home = environment.get("XDG_DATA_HOME")
    return Path(home) / "westering" if home else Path.home() / ".local" / "share" / "westering"

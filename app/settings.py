"""What the environment says, read once at the start."""

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

DEFAULT_PORT = 8421


@dataclass(frozen=True)
class Settings:
    """How this Westering runs.

    ``data`` is the folder for the database, ``database`` a path or URL that
    replaces the file in it. Environment: WESTERING_DATA, WESTERING_DATABASE.
    """

    data: Path
    database: str | Path
    host: str = "127.0.0.1"
    port: int = DEFAULT_PORT

    @classmethod
    def from_environment(cls, environment: Mapping[str, str] = os.environ, data: str | None = None) -> "Settings":
        """Return the settings; ``data`` from the command line goes before WESTERING_DATA."""
        folder = Path(data or environment.get("WESTERING_DATA") or _default_folder(environment)).expanduser()
        return cls(folder, environment.get("WESTERING_DATABASE") or folder / "westering.sqlite")


def _default_folder(environment: Mapping[str, str]) -> Path:
    """Return the usual place for a program's data: the XDG base directory, or the home folder's own."""
    home = environment.get("XDG_DATA_HOME")
    return Path(home) / "westering" if home else Path.home() / ".local" / "share" / "westering"

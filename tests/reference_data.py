"""Reading of the reference tables beside this file; their sources stand in reference/README.md."""

import csv
import json
from datetime import datetime
from pathlib import Path

FOLDER = Path(__file__).parent / "reference"


def rows(name: str) -> list[dict[str, str]]:
    with open(FOLDER / f"{name}.csv", newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def worked_examples() -> dict:
    return json.loads((FOLDER / "worked-examples.json").read_text(encoding="utf-8"))


def utc_s(text: str) -> float:
    """Seconds since 1970 of an ISO instant with its offset."""
    instant = datetime.fromisoformat(text)
    assert instant.tzinfo is not None
    return instant.timestamp()

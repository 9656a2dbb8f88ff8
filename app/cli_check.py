"""The morning check on the command line."""

import argparse
import random
import sys
import time
from typing import Any

from app.cli_files import opened
from app.errors import BadInput, Unavailable
from app.settings import Settings
from app.web.answers.check import check_answer
from app.web.mornings import MorningDesk
from app.web.weather_services import services_of


def check(asked: argparse.Namespace) -> dict[str, Any]:
    """Return the check of a shoot from what is kept; with --ask the weather services are asked first.

    What goes wrong in asking is told on standard error, and the check is made all the same.
    """
    services = services_of(Settings.from_environment(data=asked.data).weather)
    with opened(asked.data, must_exist=True) as store:
        desk, now_utc_s = MorningDesk(store, services), time.time()
        store.shoots.read(asked.shoot)
        if asked.ask:
            _ask(desk, asked.shoot, now_utc_s)
        morning = desk.morning(asked.shoot, now_utc_s)
        return check_answer(morning, desk.since(asked.shoot, morning))


def _ask(desk: MorningDesk, shoot: str, now_utc_s: float) -> None:
    try:
        desk.ask(shoot, now_utc_s, random.random())
    except (BadInput, Unavailable) as error:
        print(f"westering: {error}", file=sys.stderr)

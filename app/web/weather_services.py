"""Which weather services the owner lets us ask, and the timer's hours; nobody is asked unless something is set."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from app.errors import BadInput, Unavailable
from app.outside.airfield import AirfieldService
from app.outside.forecast_met import ADDRESS as MET_ADDRESS
from app.outside.forecast_met import MetNorway
from app.outside.forecast_openmeteo import ADDRESS as OPENMETEO_ADDRESS
from app.outside.forecast_openmeteo import OpenMeteo
from app.outside.kept_answer import Kept, Source
from app.picture.forecast import Forecast

SET_ONE = (
    "No forecast service is set, so none is asked. MET Norway's is free for paid work too and wants a contact of yours: "
    "set WESTERING_MET_CONTACT to an e-mail address or a web page and start Westering again. "
    "Until then type in what you see of the sky."
)


@dataclass(frozen=True)
class WeatherServices:
    """What the owner has set; an empty text is nothing. ``check_hours`` are whole hours on a shoot's clocks."""

    met_contact: str = ""
    met_address: str = ""
    openmeteo_key: str = ""
    openmeteo_address: str = ""
    airfield_address: str = ""
    check_hours: tuple[int, ...] = ()

    def sources(self) -> tuple[tuple[Source, ...], tuple[str, ...]]:
        """Return the forecast services in the order they are asked, and why others that are set cannot be."""
        faults: list[str] = []
        found = tuple(one for make in self._wanted() if (one := _made(make, faults)))
        return found, tuple(faults) if found or faults else (SET_ONE,)

    def airfield(self) -> AirfieldService | None:
        """Return where airfields' reports are fetched; None where that is not set. ``BadInput`` for an address that cannot be one."""
        return AirfieldService(self.airfield_address) if self.airfield_address else None

    def _wanted(self) -> Iterator[Callable[[], Source]]:
        if self.met_contact:
            yield lambda: MetNorway(self.met_contact, self.met_address or MET_ADDRESS)
        if self.openmeteo_key or self.openmeteo_address:
            yield lambda: OpenMeteo(self.openmeteo_key, self.openmeteo_address or OPENMETEO_ADDRESS)


def read_kept(kept: Kept) -> Forecast | None:
    """Return the forecast in a kept answer, whether or not its service is still set; None where it cannot be read."""
    readers = {MetNorway.key: MetNorway("kept@example.invalid"), OpenMeteo.key: OpenMeteo("kept")}  # neither asks anybody here
    try:
        return readers[kept.source].read(kept) if kept.source in readers else None
    except Unavailable:
        return None


def services_of(told: Mapping[str, str]) -> WeatherServices:
    """Return the services of what the environment says, by the fields' names; ``BadInput`` for hours that are none."""
    return WeatherServices(**{**told, "check_hours": check_hours(told.get("check_hours", ""))})


def check_hours(text: str) -> tuple[int, ...]:
    """Return the hours of a list such as “5, 7”; ``BadInput`` otherwise, empty for an empty text."""
    parts = [part.strip() for part in text.split(",") if part.strip()]
    if any(not (part.isdecimal() and int(part) < 24) for part in parts):
        raise BadInput(f"WESTERING_CHECK_HOURS lists whole hours from 0 to 23, like “5, 7”; “{text[:40]}” came.", "check_hours")
    return tuple(sorted({int(part) for part in parts}))


def _made(make: Callable[[], Source], faults: list[str]) -> Source | None:
    try:
        return make()
    except BadInput as error:
        faults.append(str(error))
        return None

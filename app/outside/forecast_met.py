"""MET Norway's forecast for any place on Earth: locationforecast 2.0, “complete”."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, ClassVar

import httpx

from app.errors import BadInput, Unavailable, WesteringError
from app.outside.fetch import Answer, asked
from app.outside.kept_answer import Batch, Kept, Spot, Wait, ask_again_utc_s, holds, iso_utc_s, wait_after
from app.outside.weather_json import check_address, read_answer, unreadable
from app.outside.weather_units import converted
from app.picture.forecast import Forecast, Hour, span_words

ADDRESS = "https://api.met.no/weatherapi/locationforecast/2.0/complete"
AGENT = "Westering/1"
MOST_BYTES = 3_000_000  # an answer has about 0.1 MB
LONGEST_S = 20.0
UNDERSTOOD = (203, 304, 403, 422, 429, 503)

# The core's name, theirs, the unit they state in their documentation, and what kind it is.
_DETAILS = (
    ("cloud", "cloud_area_fraction", "%", "share"),
    ("low", "cloud_area_fraction_low", "%", "share"),
    ("middle", "cloud_area_fraction_medium", "%", "share"),
    ("high", "cloud_area_fraction_high", "%", "share"),
    ("wind_m_s", "wind_speed", "m/s", "speed"),
    ("gust_m_s", "wind_speed_of_gust", "m/s", "speed"),
    ("wind_from_deg", "wind_from_direction", "degrees", "angle"),
    ("fog", "fog_area_fraction", "%", "share"),
    ("temperature_c", "air_temperature", "celsius", "warmth"),
    ("sea_pressure_hpa", "air_pressure_at_sea_level", "hPa", "pressure"),
)
_RAIN_OVER_H = (("next_1_hours", 1.0), ("next_6_hours", 6.0))


@dataclass(frozen=True)
class MetNorway:
    """The service; its terms ask for a ``contact``, an address to write to or a page. ``BadInput`` without one."""

    contact: str
    address: str = ADDRESS
    key: ClassVar[str] = "met"
    name: ClassVar[str] = "MET Norway"
    attribution: ClassVar[str] = "Forecast from MET Norway, CC BY 4.0"

    def __post_init__(self) -> None:
        check_address(self.address)
        if not re.fullmatch(r"[!-~]+(@|\.)[!-~]+", self.contact.strip()) or re.search(r"[()<>\\]", self.contact):
            raise BadInput(
                "MET Norway asks for a contact with every question: an e-mail address or a web page of yours; "
                f"“{self.contact[:60]}” came.", "contact",
            )  # fmt: skip

    def question(self, spot: Spot) -> str:
        """Return the address that asks for one spot."""
        height = f"&altitude={spot.height_text}" if spot.height_text else ""
        return f"{self.address}?lat={spot.lat_text}&lon={spot.lon_text}{height}"

    def ask(self, spots: Sequence[Spot], before: Mapping[str, Kept], now_utc_s: float, chance: float,
            client: httpx.Client, waited: int = 0) -> Batch:  # fmt: skip
        """Ask for each spot that may be asked again; stops at the first that fails, and keeps what came."""
        batch = Batch()
        for spot in spots:
            old = before.get(spot.key)
            if old and holds(old, now_utc_s):
                batch.kept[spot.key] = old
                continue
            try:
                answer = asked(client, self.question(spot), MOST_BYTES, LONGEST_S, self._headers(old), UNDERSTOOD)
            except Unavailable as error:
                batch.fault = str(error)
                break
            batch.hear_clock(self.name, answer, now_utc_s)
            self._take(batch, spot, old, answer, now_utc_s, chance, waited)
            if batch.fault:
                break
        return batch

    def read(self, kept: Kept) -> Forecast:
        """Return the forecast in one of their GeoJSON features; raises ``Unavailable`` with a sentence."""
        try:
            return self._forecast(read_answer(self.name, kept.body, MOST_BYTES), kept)
        except (KeyError, TypeError, AttributeError, IndexError, ValueError):
            raise Unavailable(f"{self.name} sent JSON that is no forecast of theirs. Is the address right?") from None
        except WesteringError as error:
            raise unreadable(self.name, error) from None

    def _headers(self, old: Kept | None) -> dict[str, str]:
        since = {"If-Modified-Since": old.last_modified} if old and old.last_modified else {}
        return {"User-Agent": f"{AGENT} {self.contact.strip()}", **since}

    def _take(self, batch: Batch, spot: Spot, old: Kept | None, answer: Answer, now_utc_s: float, chance: float,
              waited: int) -> None:  # fmt: skip
        again = ask_again_utc_s(answer, now_utc_s, chance)
        if answer.status == 304 and old:
            batch.kept[spot.key] = replace(old, fetched_utc_s=now_utc_s, ask_again_utc_s=again)
        elif answer.status in (200, 203):
            body = answer.body.decode("utf-8", "replace")
            kept = Kept(self.key, spot.key, body, now_utc_s, again, answer.headers.get("last-modified"))
            self._keep_readable(batch, kept)
            if answer.status == 203:
                batch.note(f"{self.name} says that this version of their service will end; look for a newer Westering.")
        else:
            batch.fault, batch.wait = self._refusal(answer, now_utc_s, waited)

    def _keep_readable(self, batch: Batch, kept: Kept) -> None:
        try:
            self.read(kept)
        except Unavailable as error:
            batch.fault = str(error)
        else:
            batch.kept[kept.spot] = kept

    def _refusal(self, answer: Answer, now_utc_s: float, waited: int) -> tuple[str, Wait | None]:
        wait = wait_after(self.key, answer, now_utc_s, waited + 1)
        peace = f"It is left alone for {span_words(wait.until_utc_s - now_utc_s)}."
        if answer.status == 422:
            return f"{self.name} has no forecast for this place (status 422).", None
        if answer.status == 403:
            return f"{self.name} refuses us (status 403): the contact may be wrong, or blocked. {peace}", wait
        if answer.status in (429, 503):
            return f"{self.name} has too much to do (status {answer.status}). {peace}", wait
        return f"{self.name} says that nothing is new, but nothing is kept (status {answer.status}).", None

    def _forecast(self, answer: Mapping[str, Any], kept: Kept) -> Forecast:
        properties = answer["properties"]
        units = properties["meta"].get("units") or {}
        hours = tuple(_hour(row, units) for row in properties["timeseries"])
        lat, lon = (float(part) for part in kept.spot.split(",")[:2])
        issued = iso_utc_s(properties["meta"]["updated_at"])
        return Forecast(self.name, self.attribution, lat, lon, issued, kept.fetched_utc_s, hours)


def _hour(row: Mapping[str, Any], units: Mapping[str, str]) -> Hour:
    details = row["data"]["instant"]["details"]
    values = {
        name: converted(details.get(theirs), units.get(theirs, unit), kind) for name, theirs, unit, kind in _DETAILS
    }
    return Hour(iso_utc_s(row["time"]), **values, rain_mm_h=_rain_mm_h(row["data"], units))


def _rain_mm_h(data: Mapping[str, Any], units: Mapping[str, str]) -> float | None:
    """Return the mean over the shortest time that the row tells it for. [mm/h]"""
    for name, hours in _RAIN_OVER_H:
        amount = data.get(name, {}).get("details", {}).get("precipitation_amount")
        if amount is not None:
            amount_mm = converted(amount, units.get("precipitation_amount", "mm"), "water")
            return None if amount_mm is None else amount_mm / hours
    return None

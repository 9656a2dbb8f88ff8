"""Open-Meteo's forecast, with the owner's own key or from the owner's own server.

Their free door is for non-commercial use, which a photographer's work is not.
"""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar
from urllib.parse import urlencode

import httpx

from app.errors import BadInput, Unavailable, WesteringError
from app.outside.fetch import Answer, asked
from app.outside.kept_answer import Batch, Kept, Spot, ask_again_utc_s, holds, wait_after
from app.outside.weather_json import check_address, read_answer, unreadable
from app.outside.weather_units import converted
from app.picture.forecast import Forecast, Hour, span_words
from app.place.values import short

ADDRESS = "https://customer-api.open-meteo.com/v1/forecast"
FREE_HOST = "api.open-meteo.com"
MOST_BYTES = 5_000_000
LONGEST_S = 20.0
DAYS = 10
UNDERSTOOD = (400, 429, 503)

# The core's name, theirs, and what kind it is.
_HOURLY = (
    ("cloud", "cloud_cover", "share"),
    ("low", "cloud_cover_low", "share"),
    ("middle", "cloud_cover_mid", "share"),
    ("high", "cloud_cover_high", "share"),
    ("wind_m_s", "wind_speed_10m", "speed"),
    ("gust_m_s", "wind_gusts_10m", "speed"),
    ("wind_from_deg", "wind_direction_10m", "angle"),
    ("visibility_m", "visibility", "length"),
    ("rain_mm_h", "precipitation", "water"),
    ("temperature_c", "temperature_2m", "warmth"),
    ("sea_pressure_hpa", "pressure_msl", "pressure"),
)


@dataclass(frozen=True)
class OpenMeteo:
    """The service. ``BadInput`` when it is their own and no key is given."""

    api_key: str = ""
    address: str = ADDRESS
    key: ClassVar[str] = "openmeteo"
    name: ClassVar[str] = "Open-Meteo"
    attribution: ClassVar[str] = "Weather data by Open-Meteo.com, CC BY 4.0"

    def __post_init__(self) -> None:
        check_address(self.address)
        host = httpx.URL(self.address).host
        if host == FREE_HOST or host.endswith("open-meteo.com") and not self.api_key.strip():
            raise BadInput(
                "Open-Meteo's free door is not for paid work. Give the key of a plan of yours and their address for "
                "customers, or the address of a server of your own.", "api_key",
            )  # fmt: skip

    def question(self, spots: Sequence[Spot]) -> str:
        """Return the address that asks for all spots at once, every unit named."""
        wanted = {
            "latitude": ",".join(spot.lat_text for spot in spots),
            "longitude": ",".join(spot.lon_text for spot in spots),
            "hourly": ",".join(theirs for _, theirs, _ in _HOURLY),
            "wind_speed_unit": "ms", "temperature_unit": "celsius", "precipitation_unit": "mm",
            "timeformat": "unixtime", "timezone": "UTC", "forecast_days": str(DAYS),
        }  # fmt: skip
        if all(spot.height_text for spot in spots):
            wanted["elevation"] = ",".join(spot.height_text for spot in spots)
        if self.api_key.strip():
            wanted["apikey"] = self.api_key.strip()
        return f"{self.address}?{urlencode(wanted, safe=',')}"

    def ask(self, spots: Sequence[Spot], before: Mapping[str, Kept], now_utc_s: float, chance: float,
            client: httpx.Client, waited: int = 0) -> Batch:  # fmt: skip
        """Ask once for all spots that may be asked again."""
        held = {spot.key: before[spot.key] for spot in spots if holds(before.get(spot.key), now_utc_s)}
        batch = Batch(held)
        wanted = [spot for spot in spots if spot.key not in held]
        if not wanted:
            return batch
        try:
            answer = asked(client, self.question(wanted), MOST_BYTES, LONGEST_S, understood=UNDERSTOOD)
            batch.hear_clock(self.name, answer, now_utc_s)
            if answer.status == 200:
                batch.kept |= self._split(wanted, answer, now_utc_s, chance)
            else:
                self._refuse(batch, answer, now_utc_s, waited)
        except Unavailable as error:
            batch.fault = str(error)
        return batch

    def read(self, kept: Kept) -> Forecast:
        """Return the forecast in an answer for one spot; raises ``Unavailable`` with a sentence."""
        return self._read(read_answer(self.name, kept.body, MOST_BYTES), kept)

    def _read(self, answer: Any, kept: Kept) -> Forecast:
        lat, lon = (float(part) for part in kept.spot.split(",")[:2])
        try:
            return Forecast(self.name, self.attribution, lat, lon, None, kept.fetched_utc_s, _hours(answer))
        except (KeyError, TypeError, AttributeError, IndexError, ValueError):
            raise Unavailable(f"{self.name} sent JSON that is no forecast of theirs. Is the address right?") from None
        except WesteringError as error:
            raise unreadable(self.name, error) from None

    def _split(self, spots: Sequence[Spot], answer: Answer, now_utc_s: float, chance: float) -> dict[str, Kept]:
        """Return an answer for each spot: they come as a list, and one alone without it."""
        value = read_answer(self.name, answer.body.decode("utf-8", "replace"), MOST_BYTES)
        parts = value if isinstance(value, list) else [value]
        if len(parts) != len(spots):
            raise Unavailable(f"{self.name} was asked for {len(spots)} places and answered for {len(parts)}.")
        again, came = ask_again_utc_s(answer, now_utc_s, chance), {}
        for spot, part in zip(spots, parts):
            kept = Kept(self.key, spot.key, json.dumps(part, separators=(",", ":")), now_utc_s, again)
            self._read(part, kept)
            came[spot.key] = kept
        return came

    def _refuse(self, batch: Batch, answer: Answer, now_utc_s: float, waited: int) -> None:
        if answer.status == 400:
            batch.fault = f"{self.name} did not take the question (status 400){_reason(answer.body)}."
            return
        batch.wait = wait_after(self.key, answer, now_utc_s, waited + 1)
        peace = span_words(batch.wait.until_utc_s - now_utc_s)
        batch.fault = f"{self.name} has too much to do (status {answer.status}). It is left alone for {peace}."


def _reason(body: bytes) -> str:
    try:
        reason = json.loads(body)["reason"]
    except (ValueError, KeyError, TypeError, RecursionError):
        return ""
    return f": “{short(str(reason).rstrip('.'), 120)}”"


def _hours(answer: Mapping[str, Any]) -> tuple[Hour, ...]:
    hourly, units = answer["hourly"], answer["hourly_units"]
    if units["time"] != "unixtime":
        raise Unavailable("Its times are not counted from 1970, as was asked.")
    columns = {name: _column(hourly, units, theirs, kind) for name, theirs, kind in _HOURLY}
    # Theirs is the sum of the hour before the time beside it, the core's the mean after it.
    columns["rain_mm_h"] = [*columns["rain_mm_h"][1:], None]
    return tuple(
        Hour(float(utc_s), **{name: column[row] for name, column in columns.items()})
        for row, utc_s in enumerate(hourly["time"])
    )


def _column(hourly: Mapping[str, Any], units: Mapping[str, str], theirs: str, kind: str) -> list[float | None]:
    """Return one quantity hour by hour, nothing at all where the answer leaves it out."""
    if theirs not in hourly:
        return [None] * len(hourly["time"])
    if len(hourly[theirs]) != len(hourly["time"]):
        raise Unavailable("Some of its hours are missing.")
    return [converted(value, units[theirs], kind) for value in hourly[theirs]]

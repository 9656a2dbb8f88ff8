"""Reports of airfields (METAR), pasted or fetched, decoded by the library metar."""

import re
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime

import httpx

from app.errors import BadInput, Unavailable
from app.outside.fetch import asked, open_client
from app.picture.cloud_levels import OKTAS, Layer, cover_of
from app.picture.forecast import DAY_S, Hour, ago_words
from app.place.values import short

MOST_BYTES = 200_000
MOST_PIECES = 50
STATION = re.compile(r"[A-Z][A-Z0-9]{3}")
# What tells that there is nothing below some height, and says nothing of the sky above it.
NONE_LOW = frozenset({"CAVOK", "NSC", "NCD", "CLR"})
CLEAR = frozenset({"SKC"})
NOT_BLUE = "It leaves out cloud above the heights that matter to aircraft, so the sky need not be blue."

_START = re.compile(
    r"(?:\b(?:METAR|SPECI|TAF)\s+(?:(?:AMD|COR|TAF)\s+)*)?\b([A-Z][A-Z0-9]{3})\s+(\d{6})Z(?=\s)(\s+\d{4}/\d{4}\b)?"
)


@dataclass(frozen=True)
class Piece:
    """One report found in a text; ``text`` begins with the station."""

    station: str
    text: str
    is_taf: bool
    stamp: str


@dataclass(frozen=True)
class Report:
    """What was measured at an airfield; ``hour.over(forecast_hour)`` lets it win where it says something.

    ``words`` say what else it tells and what to mind.
    """

    station: str
    text: str
    hour: Hour
    words: tuple[str, ...]


@dataclass(frozen=True)
class AirfieldService:
    """Where reports are fetched; ``address`` holds {station}. ``BadInput`` when it cannot be one."""

    address: str

    def __post_init__(self) -> None:
        try:
            url = httpx.URL(self.address.replace("{station}", "ABCD"))
        except httpx.InvalidURL:
            url = httpx.URL()
        if url.scheme not in ("https", "http") or not re.fullmatch(r"[\w.:-]+", url.host) or "{station}" not in self.address:
            message = f"The airfields' address begins https:// and holds {{station}}; “{short(self.address, 80)}” came."
            raise BadInput(message, "address")


def fetch_airfield(service: AirfieldService, station: str, client: httpx.Client | None = None) -> str:
    """Return the text that a service has of an airfield, for ``pieces``; raises ``Unavailable`` in words.

    ``station`` is the airfield's four letters; ``BadInput`` otherwise.
    """
    letters = station.strip().upper()
    if not STATION.fullmatch(letters):
        raise BadInput(f"An airfield is named by its four letters; “{short(station)}” came.", "station")
    with client or open_client() as asking:
        answer = asked(asking, service.address.replace("{station}", letters), MOST_BYTES)
    text = answer.body.decode("utf-8", "replace")
    if not any(True for _ in pieces(text)):
        raise Unavailable(f"What came for {letters} holds no report of an airfield. Is the address right?")
    return text


def pieces(text: str) -> Iterator[Piece]:
    """Yield the reports in a text, METAR and TAF mixed, with or without their names, over any number of lines."""
    whole = " ".join(text[:MOST_BYTES].upper().split()) + " "
    starts = list(_START.finditer(whole))[:MOST_PIECES]
    for found, after in zip(starts, [*starts[1:], None]):
        end = after.start() if after else len(whole)
        body = whole[found.start(1) : end].split("=")[0].strip()
        yield Piece(found[1], body, found[3] is not None, found[2])


def read_metar(text: str, now_utc_s: float, lat_deg: float) -> Report:
    """Return the newest METAR in a text.

    Parameters
    ----------
    now_utc_s : float
        Reports carry day and time only; the month is the one that comes nearest. [s since 1970 UTC]
    lat_deg : float
        Cloud is sorted into levels by latitude. [°]

    Raises
    ------
    BadInput
        When there is none, or what there is cannot be read.
    """
    found = [piece for piece in pieces(text) if not piece.is_taf]
    if not found:
        raise BadInput(f"No METAR is in “{short(text)}”; it begins with an airfield and its time, like EGLL 251050Z.", "report")
    newest = max(found, key=lambda piece: stamp_utc_s(piece.stamp, now_utc_s))
    return _report(newest, stamp_utc_s(newest.stamp, now_utc_s), now_utc_s, lat_deg)


def stamp_utc_s(stamp: str, now_utc_s: float) -> float:
    """Return the instant of day, hour and minute (251050) in the month nearest to now. [s since 1970 UTC]"""
    day, hour, minute = (int(stamp[at : at + 2]) for at in (0, 2, 4))
    possible = []
    for days in (-28, 0, 28):
        month = datetime.fromtimestamp(now_utc_s + days * DAY_S, UTC)
        try:
            possible.append(datetime(month.year, month.month, day, hour, minute, tzinfo=UTC).timestamp())
        except ValueError:
            continue  # this month has no such day
    if not possible:
        raise BadInput(f"“{stamp}Z” is no day, hour and minute.", "report")
    return min(possible, key=lambda utc_s: abs(utc_s - now_utc_s))


def _report(piece: Piece, utc_s: float, now_utc_s: float, lat_deg: float) -> Report:
    from metar.Metar import Metar, ParserError  # 25 ms, so only when it is wanted

    moment = datetime.fromtimestamp(utc_s, UTC)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # what it could not read is told below
            decoded = Metar(f"METAR {piece.text}", month=moment.month, year=moment.year, strict=False)
    except (ParserError, ValueError, IndexError, AttributeError, TypeError):
        raise BadInput(f"The report “{short(piece.text, 80)}” cannot be read.", "report") from None
    tokens = set(re.split(r"\s(?:RMK|TEMPO|BECMG|NOSIG)\b", piece.text)[0].split())
    values = {**_wind(decoded), **_cover(decoded, tokens, lat_deg), **_air(decoded, tokens)}
    return Report(piece.station, piece.text, Hour(utc_s, **values), _words(decoded, tokens, utc_s, now_utc_s))


def _wind(decoded: object) -> dict[str, float | None]:
    mean, gust, bearing = decoded.wind_speed, decoded.wind_gust, decoded.wind_dir
    calm = mean is not None and mean.value("MPS") == 0.0
    return {
        "wind_m_s": mean and mean.value("MPS"),
        "gust_m_s": gust and gust.value("MPS"),
        "wind_from_deg": None if bearing is None or calm else bearing.value(),
    }


def _air(decoded: object, tokens: set[str]) -> dict[str, float | None]:
    # The library takes “////” for 10 km.
    visible = None if decoded.vis is None or "////" in tokens else decoded.vis.value("M")
    return {
        "visibility_m": visible,
        "temperature_c": decoded.temp and decoded.temp.value("C"),
        "sea_pressure_hpa": decoded.press and decoded.press.value("MB"),
    }


def _cover(decoded: object, tokens: set[str], lat_deg: float) -> dict[str, float | None]:
    if tokens & CLEAR:
        return dict.fromkeys(("cloud", "low", "middle", "high"), 0.0)
    if any(amount == "VV" for amount, _, _ in decoded.sky):
        return {"cloud": 1.0, "low": 1.0}
    if tokens & NONE_LOW:
        return {"low": 0.0}
    return cover_of(
        (Layer(amount, base.value("M")) for amount, base, _ in decoded.sky if amount in OKTAS and base is not None), lat_deg
    )


def _words(decoded: object, tokens: set[str], utc_s: float, now_utc_s: float) -> tuple[str, ...]:
    words = [f"Measured {ago_words(now_utc_s - utc_s)}."]
    weather = decoded.present_weather() if decoded.weather else ""
    if weather and "/" not in weather:
        words.append(f"Weather: {weather}.")
    if tokens & NONE_LOW:
        words.append(NOT_BLUE)
    unread = decoded._unparsed_groups  # the library's only way to tell
    if unread:
        words.append(f"Not understood: {short(' '.join(unread), 80)}.")
    return tuple(words)

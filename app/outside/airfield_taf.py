"""Forecasts of airfields (TAF), decoded by the library metar-taf-parser."""

import math
import re
import warnings
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from app.errors import BadInput
from app.outside.airfield import NOT_BLUE, Piece, pieces, stamp_utc_s
from app.outside.weather_units import converted
from app.picture.cloud_levels import OKTAS, Layer, cover_of
from app.picture.forecast import DAY_S, HOUR_S, Forecast, Hour
from app.place.values import short

FOOT_M, MILE_M = 0.3048, 1609.344
LONGEST_S = 3 * DAY_S  # none is made for longer than 30 hours
_UNREADABLE = (AttributeError, IndexError, KeyError, TypeError, ValueError)

Values = dict[str, float | None]


@dataclass(frozen=True)
class Spell:
    """Weather that comes for a while only, or perhaps; ``hour`` gives what is then different.

    ``percent`` is the chance where one is stated.
    """

    begins_utc_s: float
    ends_utc_s: float
    hour: Hour
    percent: int | None


@dataclass(frozen=True)
class AirfieldForecast:
    """What is expected to prevail at an airfield, hour by hour, and the spells between. ``words`` say what to mind."""

    station: str
    text: str
    forecast: Forecast
    spells: tuple[Spell, ...]
    words: tuple[str, ...]


@dataclass(frozen=True)
class _Change:
    begins_utc_s: float
    ends_utc_s: float
    values: Values


def read_taf(text: str, now_utc_s: float, lat_deg: float, lon_deg: float) -> AirfieldForecast:
    """Return the newest TAF in a text.

    Parameters
    ----------
    now_utc_s : float
        When it was fetched or pasted; the month is the one nearest to it. [s since 1970 UTC]
    lat_deg, lon_deg : float
        Where the airfield lies. [°]

    Raises
    ------
    BadInput
        When there is none, it was cancelled, or it cannot be read.
    """
    found = [piece for piece in pieces(text) if piece.is_taf]
    if not found:
        raise BadInput(f"No TAF is in “{short(text)}”; it begins like EGLL 251100Z 2512/2618.", "report")
    newest = max(found, key=lambda piece: stamp_utc_s(piece.stamp, now_utc_s))
    issued_utc_s = stamp_utc_s(newest.stamp, now_utc_s)
    decoded = _decoded(newest)
    try:
        hours, spells = _expected(decoded, issued_utc_s, lat_deg)
    except _UNREADABLE:
        raise _unreadable(newest) from None
    forecast = Forecast(newest.station, f"Airfield {newest.station}", lat_deg, lon_deg, issued_utc_s, now_utc_s, hours)
    return AirfieldForecast(newest.station, newest.text, forecast, spells, (NOT_BLUE,))


def _decoded(piece: Piece) -> Any:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # its sources hold “\g”, of which Python warns when it first reads them
        from metar_taf_parser.model.enum import Flag
        from metar_taf_parser.parser.parser import TAFParser
    try:
        decoded = TAFParser().parse(f"TAF {piece.text}")
    except _UNREADABLE:
        raise _unreadable(piece) from None
    if Flag.CNL in decoded.flags:
        raise BadInput(f"The forecast of {piece.station} was cancelled; wait for its next.", "report")
    return decoded


def _unreadable(piece: Piece) -> BadInput:
    return BadInput(f"The forecast “{short(piece.text, 80)}” cannot be read.", "report")


def _expected(decoded: Any, issued_utc_s: float, lat_deg: float) -> tuple[tuple[Hour, ...], tuple[Spell, ...]]:
    begins, ends = _span(decoded.validity, issued_utc_s)
    if not 0.0 < ends - begins <= LONGEST_S:
        raise ValueError("no length of time")
    lasting, spells = [_Change(begins, begins, _values(decoded, lat_deg))], []
    for trend in decoded.trends:
        start, end = _span(trend.validity, issued_utc_s)
        values = _values(trend, lat_deg)
        match trend.type.name:
            case "FM":
                # All is new from then on, and until then all is as before.
                empty: Values = dict.fromkeys(_NAMES)
                lasting.append(_Change(start - 60.0, start, empty | values))
            case "BECMG":
                lasting.append(_Change(start, end, values))
            case _:
                spells.append(Spell(start, end, Hour(start, **values), trend.probability))
    return _hours(sorted(lasting, key=lambda change: change.ends_utc_s), begins, ends), tuple(spells)


_NAMES = ("cloud", "low", "middle", "high", "wind_m_s", "gust_m_s", "wind_from_deg", "visibility_m")


def _hours(changes: list[_Change], begins: float, ends: float) -> tuple[Hour, ...]:
    """Return a row for each hour, and one for the beginning and the end of each change; between them it goes straight."""
    whole = {begins + hour * HOUR_S for hour in range(int((ends - begins) // HOUR_S) + 1)} | {ends}
    edges = {moment for change in changes for moment in (change.begins_utc_s, change.ends_utc_s)}
    kept = {utc_s for utc_s in whole if not any(one.begins_utc_s < utc_s < one.ends_utc_s for one in changes)}
    rows = []
    for utc_s in sorted(moment for moment in kept | edges if begins <= moment <= ends):
        values: Values = {}
        for change in changes:
            values |= change.values if change.ends_utc_s <= utc_s else {}
        rows.append(Hour(utc_s, **values))
    return tuple(rows)


def _span(validity: Any, issued_utc_s: float) -> tuple[float, float]:
    """Return from when to when; what begins at a minute has no end of its own. [s since 1970 UTC]"""
    minutes = getattr(validity, "start_minutes", 0)
    begins = _utc_s(validity.start_day, validity.start_hour, issued_utc_s) + minutes * 60.0
    if not hasattr(validity, "end_hour"):
        return begins, begins
    return begins, _utc_s(validity.end_day, validity.end_hour, issued_utc_s)


def _utc_s(day: int, hour: int, issued_utc_s: float) -> float:
    """Hour 24 is the end of its day."""
    midnight = stamp_utc_s(f"{day:02d}0000", issued_utc_s)
    if not 0 <= hour <= 24:
        raise ValueError(f"{hour} is no hour")
    return midnight + hour * HOUR_S


def _values(part: Any, lat_deg: float) -> Values:
    """Return what a part of the forecast gives, and nothing of what it leaves as it was."""
    values: Values = {}
    if part.wind:
        unit = part.wind.unit
        values["wind_m_s"] = converted(part.wind.speed, unit, "speed")
        values["gust_m_s"] = converted(part.wind.gust, unit, "speed")
        values["wind_from_deg"] = None if part.wind.degrees is None or not part.wind.speed else float(part.wind.degrees)
    visible_m = 10_000.0 if part.cavok else _visible_m(part.visibility.distance) if part.visibility else None
    if visible_m is not None:
        values["visibility_m"] = visible_m
    return values | _cover(part, lat_deg)


def _cover(part: Any, lat_deg: float) -> Values:
    unknown: Values = dict.fromkeys(("cloud", "low", "middle", "high"))
    amounts = {cloud.quantity.name for cloud in part.clouds}
    if "SKC" in amounts:
        return dict.fromkeys(unknown, 0.0)
    if part.vertical_visibility is not None:
        return unknown | {"cloud": 1.0, "low": 1.0}
    if part.cavok or "NSC" in amounts:
        return unknown | {"low": 0.0}
    layers = [
        Layer(cloud.quantity.name, cloud.height * FOOT_M)
        for cloud in part.clouds
        if cloud.quantity.name in OKTAS and cloud.height is not None
    ]
    return unknown | cover_of(layers, lat_deg) if layers else {}


def _visible_m(text: str) -> float | None:
    """Return how far one sees, from the library's words: “> 10km”, “9000m”, “P6SM”, “1 1/2SM”. [m]"""
    found = re.fullmatch(r"[>PM<\s]*((?:\d+ )?\d+(?:/[1-9]\d*)?)\s*(km|m|SM)", text)
    if not found:
        return None
    number = math.fsum(Fraction(part) for part in found[1].split())
    return float(number) * {"km": 1000.0, "m": 1.0, "SM": MILE_M}[found[2]]

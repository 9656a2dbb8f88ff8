"""The weather of a day at a kept site: what is kept of it, read, and the ways to get more."""

from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass, replace
from datetime import date
from typing import Any

import numpy as np

from app.errors import BadInput, Unavailable
from app.outside.airfield import fetch_airfield, read_metar
from app.outside.airfield_taf import AirfieldForecast, read_taf
from app.outside.forecasts import ask_forecasts
from app.outside.kept_answer import Kept, Spot, Wait
from app.picture.by_eye import ByEye
from app.picture.forecast import Forecast, ago_words
from app.picture.weather import Weather
from app.picture.west_section import WestSection, places_to_ask, section_from
from app.shoot.morning_margins import hour_words
from app.shoot.morning_sun import LowSun, low_sun
from app.shoot.morning_weather import SiteWeather
from app.sky.track import Observer
from app.storage.store import Store
from app.storage.weather_book import KeptDay
from app.web.render import clock
from app.web.shelf import KeptSite
from app.web.weather_services import WeatherServices, read_kept


@dataclass(frozen=True)
class SiteDay:
    """A day at a site with all that is known of its weather.

    Attributes
    ----------
    kept : KeptSite
    day : date
    part : str
        “evening” or “morning”.
    weather : SiteWeather
    sun : LowSun, optional
        Its sunset or sunrise; None where there is none.
    section : WestSection, optional
        Cloud along the sun's bearing then.
    forecast : Forecast, optional
        For the site itself.
    sources : tuple of str
        Whose all this is and how old, a sentence each.
    faults : tuple of str
        What of it cannot be used, and why.
    reports : str
        What airfields said, as it came.
    """

    kept: KeptSite
    day: date
    part: str
    weather: SiteWeather
    sun: LowSun | None
    section: WestSection | None
    forecast: Forecast | None
    sources: tuple[str, ...]
    faults: tuple[str, ...]
    reports: str

    @property
    def observer(self) -> Observer:
        """Whoever stands at the site's middle."""
        return observer_of(self.kept)


class WeatherDesk:
    """Weather for the pages; only ``ask`` and ``fetch_reports`` go out."""

    def __init__(self, store: Store, services: WeatherServices) -> None:
        self.store, self.services = store, services

    def day(self, kept: KeptSite, day: date, part: str, now_utc_s: float) -> SiteDay:
        """Return what is kept of a day at a site; nobody is asked."""
        spots, day_kept = self._spots(kept, day, part), self.store.weather.day(kept.slug, day)
        forecasts = self._newest(spots)
        site = forecasts[0] if forecasts else None
        faults: list[str] = []
        weather = SiteWeather(site, *_heard(day_kept, kept, faults), seen_of(day_kept))
        sun = low_sun(observer_of(kept), *kept.civil_day(day), part, weather)
        section = _section(forecasts, sun, weather) if sun and len(forecasts) > 1 else None
        at_utc_s = sun.utc_s if sun else kept.civil_day(day)[0]
        told = (*_sources(weather, day_kept, at_utc_s, now_utc_s), *_spells(day_kept, kept))
        return SiteDay(kept, day, part, weather, sun, section, site, told, tuple(faults), day_kept.reports)

    def expected(self, kept: KeptSite, day: date, utc_s: float, now_utc_s: float) -> tuple[Weather, str] | None:
        """Return the wind that is kept for a moment, and whose it is and how old; None where none is kept."""
        day_kept, faults = self.store.weather.day(kept.slug, day), []
        forecasts = self._newest((_spot(kept),))
        weather = SiteWeather(forecasts[0] if forecasts else None, *_heard(day_kept, kept, faults), seen_of(day_kept))
        hour = weather.at(utc_s)
        if hour is None or weather.on_water(hour).wind_m_s is None:
            return None
        return weather.on_water(hour), next(_sources(weather, day_kept, utc_s, now_utc_s))

    def ask(self, kept: KeptSite, day: date, part: str, now_utc_s: float, chance: float) -> str:
        """Ask the services for a day's weather and keep what came; return what happened, in words.

        Raises ``Unavailable`` where nothing at all is known afterwards, ``BadInput`` where no service is set.
        """
        sources, faults = self.services.sources()
        if not sources:
            raise BadInput(" ".join(faults))
        spots = self._spots(kept, day, part)
        held = [Kept(**asdict(one)) for one in self.store.weather.answers(spot.key for spot in spots)]
        waits = [Wait(**asdict(one)) for one in self.store.weather.waits()]
        outcome = ask_forecasts(sources, spots, held, waits, now_utc_s, chance)
        self.store.weather.keep(outcome.to_keep, outcome.waits, now_utc_s)
        words = " ".join((*outcome.words, *faults))
        if outcome.forecasts[0] is None:
            raise Unavailable(words)
        return words

    def fetch_reports(self, kept: KeptSite, day: date, station: str, now_utc_s: float) -> None:
        """Keep what an airfield says now; ``BadInput`` or ``Unavailable`` with a sentence."""
        service = self.services.airfield()
        if service is None:
            raise BadInput("No airfields' service is set: paste the report, or set WESTERING_AIRFIELD_ADDRESS.", "station")
        self.store.weather.keep_reports(kept.slug, day, fetch_airfield(service, station), now_utc_s)

    def _spots(self, kept: KeptSite, day: date, part: str) -> tuple[Spot, ...]:
        """Return the spots that a day asks for: the site, then along the low sun's bearing; the site alone without one."""
        centre, first = kept.site.centre, _spot(kept)
        sun = low_sun(observer_of(kept), *kept.civil_day(day), part, SiteWeather())
        if sun is None:
            return (first,)
        bearing = round(sun.azimuth_deg / 2) * 2 % 360  # so that days that follow each other ask for the same places
        return (first, *(Spot(*place) for place in places_to_ask(centre.lat_deg, centre.lon_deg, float(bearing))[1:]))

    def _newest(self, spots: tuple[Spot, ...]) -> tuple[Forecast | None, ...]:
        """Return the forecasts of the source whose answer for the first spot is newest; empty where none is kept."""
        held = {(one.source, one.spot): Kept(**asdict(one)) for one in self.store.weather.answers(spot.key for spot in spots)}
        first = sorted((one for one in held.values() if one.spot == spots[0].key), key=lambda one: one.fetched_utc_s, reverse=True)
        source = next((one.source for one in first if read_kept(one)), None)
        if source is None:
            return ()
        return tuple(read_kept(held[source, spot.key]) if (source, spot.key) in held else None for spot in spots)


def observer_of(kept: KeptSite) -> Observer:
    """Return whoever stands at the site's middle."""
    centre = kept.site.centre
    return Observer(centre.lat_deg, centre.lon_deg, centre.height_m)


def _section(forecasts: tuple[Forecast | None, ...], sun: LowSun, weather: SiteWeather) -> WestSection | None:
    """Return the section of the forecasts; over the site itself what was seen or reported goes first."""
    found = section_from(forecasts, sun.utc_s, sun.azimuth_deg)
    here = weather.at(sun.utc_s)
    if found is None or here is None:
        return found
    cover = found.cover.copy()
    cover[:, 0] = np.array(here.levels, dtype=float)  # None becomes NaN
    return replace(found, cover=cover)


def _spot(kept: KeptSite) -> Spot:
    centre = kept.site.centre
    return Spot(centre.lat_deg, centre.lon_deg, centre.height_m)


def seen_of(day: KeptDay) -> ByEye | None:
    """Return what somebody saw of a day."""
    return ByEye(**day.seen) if day.seen else None


def _heard(day: KeptDay, kept: KeptSite, faults: list[str]) -> tuple[Forecast | None, Any]:
    """Return the airfield's forecast and its report, those that are there; faults are told."""
    if not day.reports or day.reports_utc_s is None:
        return None, None
    centre = kept.site.centre
    taf, metar = heard(day.reports, day.reports_utc_s, centre.lat_deg, centre.lon_deg, faults)
    return taf.forecast if taf else None, metar


def _spells(day: KeptDay, kept: KeptSite) -> Iterator[str]:
    """Yield what an airfield's forecast says may come for a while; the check does not count it."""
    if not day.reports or day.reports_utc_s is None:
        return
    centre, zone = kept.site.centre, kept.site.time_zone
    taf, _ = heard(day.reports, day.reports_utc_s, centre.lat_deg, centre.lon_deg, [])
    for spell in taf.spells if taf else ():
        chance = f", with {spell.percent} % chance" if spell.percent else ""
        first, last = clock(spell.begins_utc_s, zone), clock(spell.ends_utc_s, zone)
        yield f"The airfield expects for a while between {first} and {last}{chance}: {hour_words(spell.hour)}. The check does not count this."


def heard(text: str, utc_s: float, lat_deg: float, lon_deg: float, faults: list[str]) -> tuple[AirfieldForecast | None, Any]:
    """Return the TAF and the METAR's hour in a text, None for each that is not in it.

    A text with neither, or one that cannot be read, leaves its sentence in ``faults``.
    """
    taf = _read(lambda: read_taf(text, utc_s, lat_deg, lon_deg), "No TAF", faults)
    metar = _read(lambda: read_metar(text, utc_s, lat_deg), "No METAR", faults)
    if taf is None and metar is None and not faults:
        faults.append("There is no METAR and no TAF in that text; they begin like EGXX 181750Z, or EGXX 181700Z 1818/1918.")
    return taf, metar.hour if metar else None


def _read(read: Callable[[], Any], absent: str, faults: list[str]) -> Any:
    try:
        return read()
    except BadInput as error:
        if not str(error).startswith(absent):
            faults.append(str(error))
        return None


def _sources(weather: SiteWeather, day: KeptDay, at_utc_s: float, now_utc_s: float) -> Iterator[str]:
    """Yield whose the weather is and how old, what wins first."""
    if weather.seen:
        yield f"By eye, {ago_words(now_utc_s - weather.seen.utc_s)}: it wins over all others, for the whole of this day."
    if weather.report:
        yield f"An airfield's report, measured {ago_words(now_utc_s - weather.report.utc_s)}: it wins for an hour and a half around its time."
    if weather.forecast:
        reach = weather.forecast.reach_words(at_utc_s)
        yield f"{weather.forecast.attribution}: {weather.forecast.age_words(now_utc_s)}. {reach}".rstrip()
    if weather.airfield:
        yield f"{weather.airfield.attribution}: {weather.airfield.age_words(now_utc_s)}; it fills in what is not told elsewhere."

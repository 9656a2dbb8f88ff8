"""The map of low evening sun: minutes of it on every square of a site."""

from functools import partial

import numpy as np

from app.light.lingering import squares_m
from app.light.low_sun import LOW_DEG, LowSunMap, low_sun_minutes
from app.place.geodesy import LocalFrame
from app.place.shade import LOWEST_DEG, shade_polygons
from app.place.site import Centre, Notes, Obstacle, Pin, Site
from app.place.skyline import level_skyline
from app.sky.track import Observer
from tests.benchmarks.measure import demand, duration, medians_s

HERE = Pin(54.57, -3.13)
OBSERVER = Observer(HERE.lat_deg, HERE.lon_deg)
NOON_UTC_S, MIDNIGHT_UTC_S = 1821268800.0, 1821312000.0  # 2027-09-18 and the midnight after
LOWEST_SKY = level_skyline(LOWEST_DEG)  # under it shadows are drawn too short
COUNTS = (10, 20, 40, 80, 160)
REFEREE_STEP_S = 600.0  # the referee is slow
APART_SHARE = 0.001  # of the squares, whose middles lie on the edge of a shadow


def bench_low_sun_map() -> list[str]:
    """200 x 200 m at 2 m for an evening, beside shadows drawn by shapely, and how the time grows with what stands."""
    sites = {count: _village(count) for count in COUNTS}
    spent = dict(zip(COUNTS, medians_s(3, *(partial(_map, site) for site in sites.values())), strict=True))
    coarse_s, referee_s = medians_s(1, partial(_map, sites[40], REFEREE_STEP_S), partial(_drawn_minutes, sites[40]))
    low = _map(sites[40], REFEREE_STEP_S)
    apart = float(np.mean(np.abs(low.minutes - _drawn_minutes(sites[40])) > 0.01))
    demand(apart <= APART_SHARE, f"{apart:.2%} of the squares get other minutes by shadows drawn")
    growth = np.polyfit(np.log(COUNTS[1:]), np.log(list(spent.values())[1:]), 1)[0]
    return [
        f"low-sun map, {low.minutes.size:,} squares, 40 houses, every minute: {duration(spent[40])} "
        f"(at {REFEREE_STEP_S / 60:.0f} min steps {referee_s / coarse_s:.0f} times as fast as shadows drawn by shapely; {apart:.2%} of squares apart; aim 1 s)",
        "  growth: " + ", ".join(f"{count} in {duration(spent[count])}" for count in COUNTS) + f"; as count^{growth:.2f}",
    ]


def _map(site: Site, step_s: float = 60.0) -> LowSunMap:
    return low_sun_minutes(site, OBSERVER, NOON_UTC_S, MIDNIGHT_UTC_S, skyline=LOWEST_SKY, ground_m=None, step_s=step_s)


def _drawn_minutes(site: Site) -> np.ndarray:
    """Return the same minutes from shadows drawn by shapely, each square's middle asked for being in one."""
    import shapely

    low = _map(Site(**{**vars(site), "obstacles": ()}), REFEREE_STEP_S)
    sun = OBSERVER.sun_over(NOON_UTC_S + REFEREE_STEP_S / 2, MIDNIGHT_UTC_S, REFEREE_STEP_S)
    sun = sun[(sun.refracted_deg > LOWEST_DEG) & (sun.refracted_deg <= LOW_DEG)]
    east_m, north_m = (axis.ravel() for axis in squares_m(low))
    minutes = np.zeros(east_m.size)
    for azimuth_deg, altitude_deg in zip(sun.azimuth_deg.tolist(), sun.refracted_deg.tolist(), strict=True):
        shade = shapely.union_all([one.area for one in shade_polygons(site, azimuth_deg, altitude_deg, None, 1.6)])
        shapely.prepare(shade)
        minutes += ~shapely.contains_xy(shade, east_m, north_m) * REFEREE_STEP_S / 60.0
    return minutes.reshape(low.minutes.shape)


def _village(count: int) -> Site:
    """Return a site of square houses, 3 to 9 m high, each with its floor on the datum."""
    rng, frame = np.random.default_rng(6), LocalFrame(HERE.lat_deg, HERE.lon_deg)
    houses = []
    for number in range(count):
        (east, north), half = rng.uniform(-100, 100, 2), rng.uniform(3, 7)
        ring = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1), (-1, -1)]) * half + (east, north)
        lat, lon, _ = frame.to_degrees(*ring.T)
        outline = tuple(zip(lon.tolist(), lat.tolist(), strict=True))
        houses.append(Obstacle(f"h{number}", f"house {number}", "building", outline, (), True, 0.0, float(rng.uniform(3, 9)), 0.0))
    return Site("Village", "Europe/London", "", Notes(), Centre(HERE.lat_deg, HERE.lon_deg), (), tuple(houses), (), (), {}, None)

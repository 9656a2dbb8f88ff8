"""The skyline of one viewpoint: among thousands of footprints, and over terrain to the range's end."""

from collections.abc import Callable
from functools import partial

import numpy as np

from app.place.geodesy import LocalFrame
from app.place.site import Centre, Notes, Obstacle, Pin, Site
from app.place.skyline import skyline_for
from app.place.terrain import Grid, Terrain
from app.place.terrain_skyline import terrain_view
from app.units import FloatArray
from tests.benchmarks.measure import demand, duration, medians_s

HERE = Pin(54.57, -3.13)
EYE_M = 1.6
RAYS = 1440
COUNTS = (500, 1000, 2000, 4000, 8000)
REFEREE_RAYS = 96  # of the referee's; it is timed on these and reckoned up to all
AGREE_DEG = 0.005  # the plane of the referee is flat; the Earth sinks 8 cm in a kilometre, which is 0.0045°


def bench_footprints() -> list[str]:
    """Against shapely's tree asked ray by ray, and how the time grows with the count of footprints."""
    sites = {count: town(count) for count in COUNTS}
    spent = dict(zip(COUNTS, medians_s(5, *(partial(skyline_for, site, HERE, EYE_M) for site in sites.values())), strict=True))
    azimuths = np.arange(REFEREE_RAYS) * (360.0 / REFEREE_RAYS)  # on the grid: between, the skyline is straight by design
    referee = _tree(sites[2000])
    (tree_s,) = medians_s(2, lambda: [referee(azimuth) for azimuth in azimuths])
    tops = np.array([referee(azimuth) for azimuth in azimuths])
    apart = np.abs(np.maximum(tops, 0.0) - skyline_for(sites[2000], HERE, EYE_M).altitude_at(azimuths))
    demand(float(apart.max()) < AGREE_DEG, f"skyline and referee are {apart.max():.4f}° apart")
    growth = np.polyfit(np.log(COUNTS), np.log(list(spent.values())), 1)[0]
    ratio = tree_s * RAYS / REFEREE_RAYS / spent[2000]
    return [
        f"skyline among 2,000 footprints: {duration(spent[2000])} with corners and names "
        f"({ratio:.0f} times shapely's tree at {RAYS} rays; {apart.max():.4f}° apart; aim 10 ms)",
        "  growth: " + ", ".join(f"{count} in {duration(spent[count])}" for count in COUNTS) + f"; as count^{growth:.2f}",
    ]


def bench_terrain() -> list[str]:
    """A whole degree of one-second heights, every quarter degree out to 50 km."""
    side = 3601
    rows, columns = np.mgrid[0:side, 0:side] / (side - 1)
    heights = 200 + 150 * np.sin(31 * rows) * np.cos(37 * columns) + 60 * np.sin(190 * rows + 150 * columns)
    terrain = Terrain((Grid(heights, 55.0, -4.0, 1 / 3600, 1 / 3600),), "made")
    eye_m = float(terrain.height_at(54.5, -3.5)) + EYE_M
    kept = terrain.around(54.5, -3.5)
    whole_s, kept_s = medians_s(3, lambda: terrain_view(terrain, 54.5, -3.5, eye_m), lambda: terrain_view(kept, 54.5, -3.5, eye_m))
    apart = np.abs(terrain_view(terrain, 54.5, -3.5, eye_m).skyline.altitude_deg - terrain_view(kept, 54.5, -3.5, eye_m).skyline.altitude_deg)
    return [
        f"terrain skyline, {RAYS} azimuths over a degree of one-second heights: {duration(whole_s)}, "
        f"of what a site keeps of it {duration(kept_s)} ({apart.max():.2f}° apart at most; aim 50 ms)"
    ]


def town(count: int) -> Site:
    """Return a site of round houses, 5 to 60 m high, none within 20 m of the eye."""
    rng = np.random.default_rng(4)
    frame, turn = LocalFrame(HERE.lat_deg, HERE.lon_deg), np.linspace(0, 2 * np.pi, 8)
    houses = []
    for number in range(count):
        away, bearing, radius = 40 + 960 * np.sqrt(rng.random()), 2 * np.pi * rng.random(), rng.uniform(5, 15)
        east, north = away * np.sin(bearing) + radius * np.cos(turn), away * np.cos(bearing) + radius * np.sin(turn)
        lat, lon, _ = frame.to_degrees(east, north)
        ring = tuple(zip(lon.tolist(), lat.tolist(), strict=True))
        houses.append(Obstacle(f"h{number}", f"house {number}", "building", ring, (), True, 0.0, float(rng.uniform(5, 60)), 0.0))
    return Site("Town", "Europe/London", "", Notes(), Centre(HERE.lat_deg, HERE.lon_deg, 0.0), (), tuple(houses), (), (), {}, None)


def _tree(site: Site) -> Callable[[float], float]:
    """Return a function that gives the highest top at an azimuth by shapely's tree of sides. [°]"""
    import shapely

    frame = LocalFrame(HERE.lat_deg, HERE.lon_deg)
    sides, tops = [], []
    for house in site.obstacles:
        east, north, _ = frame.to_metres(*np.array(house.outline).T[::-1], 0.0)
        corners = np.stack([east, north], axis=1)
        sides += [shapely.LineString(pair) for pair in zip(corners[:-1], corners[1:], strict=True)]
        tops += [house.top_m - EYE_M] * (len(corners) - 1)
    tree, tops = shapely.STRtree(sides), np.array(tops)

    def highest(azimuth_deg: float) -> float:
        bearing = np.radians(azimuth_deg)
        ray = shapely.LineString([(0, 0), (2000 * np.sin(bearing), 2000 * np.cos(bearing))])
        met = tree.query(ray, predicate="intersects")
        away: FloatArray = shapely.distance(shapely.Point(0, 0), shapely.intersection(ray, np.array(sides)[met]))
        return float(np.degrees(np.arctan2(tops[met], away)).max(initial=-90.0))

    return highest

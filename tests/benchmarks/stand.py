"""Where to stand: ten thousand places at one moment, and how the time grows."""

from functools import partial

import numpy as np

from app.lens.camera import Camera
from app.looks.catalogue import LOOKS
from app.looks.look import wanted_look
from app.looks.places import CAMERA
from app.looks.where_to_stand import where_to_stand
from app.picture.setup import Setup
from app.place.geodesy import LocalFrame
from app.place.site import Pin
from app.web.scenes import scene_of
from tests.benchmarks.measure import duration, medians_s
from tests.benchmarks.skyline import HERE, town

EVENING_UTC_S = 1_821_288_600.0  # 18 September 2027, 17:30 UTC
REACHES_M = (28.0, 40.0, 56.4, 80.0)
COUNTS = (50, 200, 800, 3200)


def bench_where_to_stand() -> list[str]:
    """The fit of a look from a grid of 1 m, among 50 houses, by one call; and one by one as it would be without."""
    site, wanted = town(50), wanted_look(LOOKS, "sun in frame")
    lat, lon, _ = LocalFrame(HERE.lat_deg, HERE.lon_deg).to_degrees(-20.0, 0.0)
    setup = Setup("s", "S", HERE, Pin(float(lat), float(lon)), Camera(50.0, 36.0, 24.0))

    def ask(reach_m: float, among: int = 50) -> object:
        return where_to_stand(wanted, partial(scene_of, sites[among]), setup, CAMERA, EVENING_UTC_S, reach_m, 1.0)

    sites = {50: site, **{count: town(count) for count in COUNTS}}
    spent = medians_s(3, *(partial(ask, reach) for reach in REACHES_M))
    grown = medians_s(2, *(partial(ask, 56.4, count) for count in COUNTS))
    (alone,) = medians_s(3, partial(scene_of, site, setup))
    places = [len(ask(reach).fit) for reach in REACHES_M]
    power = np.polyfit(np.log(places), np.log(spent), 1)[0]
    by_houses = np.polyfit(np.log(COUNTS), np.log(grown), 1)[0]
    return [
        f"where to stand, {places[2]:,} places at one moment among 50 houses: {duration(spent[2])} "
        f"({places[2] * alone / spent[2]:.0f} times a scene for each; aim 500 ms)",
        "  growth: " + ", ".join(f"{count:,} in {duration(s)}" for count, s in zip(places, spent, strict=True)) + f"; as places^{power:.2f}",
        "  growth: " + ", ".join(f"{count} houses in {duration(s)}" for count, s in zip(COUNTS, grown, strict=True)) + f"; as houses^{by_houses:.2f}",
    ]

"""How high the ground under a pin lies above the sea, by the site file and by the terrain."""

from dataclasses import dataclass

import numpy as np

from app.place.site import Pin, Site
from app.place.terrain import Terrain

AGREE_M = 30.0  # a site's height above the sea is often a guess; farther off than this it is not believed


@dataclass(frozen=True)
class Standing:
    """The ground under a pin. ``found_m`` is the terrain's, NaN where unknown; ``told_m`` the site file's. [m]"""

    found_m: float
    told_m: float

    @property
    def used_m(self) -> float:
        """What an eye is counted from: the higher of the two where they agree within 30 m, else the terrain's. [m]

        An eye under the terrain's surface would see walls all round, and one on a
        terrace or a jetty stands higher than terrain files know. Only differences of
        height matter for a skyline, so the terrain's own zero goes before the sea's.
        """
        if np.isnan(self.found_m):
            return self.told_m
        return max(self.told_m, self.found_m) if self.agree else self.found_m

    @property
    def agree(self) -> bool:
        """Whether the two are within 30 m of each other; not where the terrain is unknown."""
        return bool(abs(self.told_m - self.found_m) <= AGREE_M)


def standing_at(terrain: Terrain, site: Site, pin: Pin) -> Standing:
    """Return the ground under a pin of a site."""
    found_m = float(terrain.height_at(pin.lat_deg, pin.lon_deg))
    return Standing(found_m, site.centre.height_m + pin.ground_m)

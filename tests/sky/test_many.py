import numpy as np
import pytest

from app.sky.many import sun_at_places
from app.sky.track import Observer


def test_each_place_has_the_sun_that_an_observer_there_has():
    random = np.random.default_rng(7)
    lat, lon = random.uniform(-90, 90, 200), random.uniform(-180, 180, 200)
    height, utc_s = random.uniform(-400, 8000, 200), random.uniform(-6e8, 4.1e9, 200)
    azimuth, airless = sun_at_places(lat, lon, height, utc_s)
    alone = [Observer(*place).sun_at(t) for *place, t in zip(lat, lon, height, utc_s, strict=True)]
    np.testing.assert_allclose(airless, [sun.airless_deg for sun in alone], atol=1e-9)
    np.testing.assert_allclose(azimuth, [sun.azimuth_deg for sun in alone], atol=1e-7)


@pytest.mark.parametrize("shape", [(1,), (3,), (2, 3)])
def test_keeps_the_shape_of_its_input(shape):
    azimuth, airless = sun_at_places(*(np.full(shape, value) for value in (10.0, 20.0, 0.0, 1.8e9)))
    assert azimuth.shape == airless.shape == shape

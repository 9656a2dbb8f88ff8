"""Hand-made days: an evening's weather of every kind, over the invented shoot."""

from app.looks.margin import Scene
from app.picture.by_eye import ByEye
from app.picture.forecast import HOUR_S, Forecast, Hour
from app.place.skyline import level_skyline
from app.shoot.morning import morning_check
from app.shoot.morning_weather import SiteWeather
from app.shoot.order import running_order
from app.shoot.standby import standbys
from app.sky.track import Observer
from tests.picture.pools import LAT as POOL_LAT
from tests.picture.pools import LON as POOL_LON
from tests.picture.pools import box, pool, setup_by, site_with
from tests.shoot.evenings import LAT, LON, shoot

NOON = 1_821_268_800.0  # 18 September 2027, 12:00 UTC
CALM = {"cloud": 0.25, "low": 0.0, "middle": 0.0, "high": 0.25, "wind_m_s": 0.0, "gust_m_s": 0.0, "rain_mm_h": 0.0, "temperature_c": 10.0, "sea_pressure_hpa": 1013.25}


def forecast(change=None, first=NOON, hours=12, **values):
    """A forecast with the same weather every hour; ``change`` gives other values by the hour's number."""
    rows = [Hour(first + at * HOUR_S, **{**CALM, **values, **((change or {}).get(at, {}))}) for at in range(hours)]
    return Forecast("Trial", "Trial forecast", LAT, LON, first - HOUR_S, first - 600.0, tuple(rows))


def day(change=None, seen=None, **values):
    return SiteWeather(forecast(change, **values), seen=seen)


def seen(**values):
    return ByEye(NOON, **values)


def checked(scenes, wishes, weather, extra=None, lights=None, free=None, suns=None):
    """Return the check of some wishes, and the order it was made of."""
    order = running_order(shoot(*wishes, **({"free": free} if free else {})), scenes)
    candidates = {("meadow", name): of for name, of in (scenes | (extra or {})).items()}
    spare = standbys(order.shoot, order.light, order.plan, candidates)
    check = morning_check(order.shoot, order.plan, order.light, spare, candidates, {"meadow": weather}, lights or {}, suns or {}, NOON)
    return check, order, candidates


def pond(sheltered=False, looks=("mirror",)):
    """A couple by a pond that mirrors the evening's sky."""
    held, site = setup_by(people=(), looks=looks), site_with(pool(box(5, 100, -60, 60), sheltered=sheltered))
    return Scene(Observer(POOL_LAT, POOL_LON), held, level_skyline(), level_skyline(), site=site)

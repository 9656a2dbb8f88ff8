"""What somebody might do to a shoot's pages by mistake or on purpose; names and dates are invented."""

import pytest

from app.sky.ephemeris import DAY_S
from app.sky.track import Observer
from app.web.drawing.order import draw_order
from app.web.drawing.order_time import TimeScale, sun_lines, ticks
from tests.web.test_shoots import (
    MEADOW,
    kept,
    merrow,
    shelf,
    wish,
)

__all__ = ["shelf"]
MIDNIGHT_S = 1_821_225_600.0  # 18 September 2027, 00:00 UTC


def test_a_whole_day_without_any_light_has_a_page(client, shelf):
    slug = kept(client, merrow(wish(MEADOW), free=()))
    assert client.get(f"/shoots/{slug}").status_code == 200
    assert all(draw_order(shelf.shoot(slug), kind) for kind in ("desk", "hand"))


@pytest.mark.parametrize("hours", [1, 12, 21, 24, 48, 72])
@pytest.mark.parametrize(("kind", "room"), [("desk", 12), ("hand", 5)])
def test_ticks_have_room_however_long_the_day_is(hours, kind, room):
    scale = TimeScale(MIDNIGHT_S, MIDNIGHT_S + 3600 * hours, 0, 1000)
    assert 1 <= len(list(ticks(scale, "Europe/London", kind))) <= room + 1


def test_a_whole_day_under_a_sun_overhead_has_a_scale_of_heights():
    equinox_s = MIDNIGHT_S + 5 * DAY_S
    *_, marks, _ = sun_lines(Observer(0.0, 0.0), TimeScale(equinox_s, equinox_s + DAY_S, 0, 1000), "UTC", 0, 100)
    assert [words for _, words in marks] == ["-60°", "0°", "60°"]

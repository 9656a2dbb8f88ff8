"""Elevation tiles: the right ones are asked for, politely; what comes is used and what does not is told."""

import numpy as np
import pytest

from app.errors import BadInput, Unavailable
from app.outside import elevation_tiles, fetch
from app.outside.elevation_tiles import Tile, TileService, decoded, fetch_elevation, tiles_around
from app.outside.fetch import open_client
from app.place.geodesy import direct
from app.place.terrain_file import terrain_bytes
from app.place.terrain_skyline import terrain_view
from tests.outside.tile_server import (
    hang_up,
    in_circles,
    landscape,
    no_picture,
    served,
    slow,
    status,
    tile_png,
    too_much,
    too_small,
    trickle,
    web_page,
    well,
)  # fmt: skip

HERE = (54.57, -3.13)
OWNER = "Heights: the made country"
PIXEL_M = 1 / 256  # the last place of the encoding


@pytest.fixture(autouse=True)
def no_proxy(monkeypatch):
    """Loopback is asked directly, whatever this machine's environment says."""
    monkeypatch.setenv("NO_PROXY", "127.0.0.1")


def fetched_from(server, **options):
    return fetch_elevation(TileService(server.address, OWNER), *HERE, client=open_client(0.4), **options)


# Which tiles


def tile_box(tile):
    """West, east, south and north of a tile."""
    lats = [np.degrees(np.arctan(np.sinh(np.pi * (1 - 2 * y / 2**tile.zoom)))) for y in (tile.y + 1, tile.y)]
    return tile.x / 2**tile.zoom * 360 - 180, (tile.x + 1) / 2**tile.zoom * 360 - 180, *lats


@pytest.mark.parametrize("lat_deg", [-80.0, -33.0, 0.0, 54.57, 68.2, 80.0])
@pytest.mark.parametrize("radius_m,pixel_m", [(5_900, 40), (19_900, 130), (49_900, 260)])
def test_every_zone_is_covered_at_its_own_pixel_size(lat_deg, radius_m, pixel_m):
    boxes = [(tile, tile_box(tile)) for tile in tiles_around(lat_deg, -3.13)]
    for bearing in range(0, 360, 30):
        lat, lon = direct(lat_deg, -3.13, bearing, radius_m)
        inside = [tile for tile, (west, east, south, north) in boxes if west <= lon <= east and south <= lat <= north]
        across = np.cos(np.radians(lat_deg))
        assert min(40_075_017 * across / 2**tile.zoom / 256 for tile in inside) <= pixel_m


def test_no_place_needs_more_than_57_tiles():
    counts = [len(tiles_around(lat, lon)) for lat in np.arange(-85, 85.1, 0.7) for lon in np.arange(-180, 180, 7.3)]
    assert max(counts) <= 57


def test_near_tiles_come_first_and_none_comes_twice():
    tiles = tiles_around(*HERE)
    assert [tile.zoom for tile in tiles] == sorted((tile.zoom for tile in tiles), reverse=True)
    assert len(set(tiles)) == len(tiles)


def test_over_the_date_line_tiles_wrap_and_the_terrain_does_not():
    service = TileService("https://tiles.example/{z}/{x}/{y}", OWNER)
    tiles = tiles_around(10.0, 179.95)
    coarsest = tiles[-1].zoom
    columns = {int(service.address_of(tile).split("/")[4]) for tile in tiles if tile.zoom == coarsest}
    assert {0, 2**coarsest - 1} < columns < set(range(2**coarsest))
    with served() as server:
        came = fetch_elevation(TileService(server.address, OWNER), 10.0, 179.95, client=open_client(2))
    lon = np.array([179.9, 179.999, -179.999, -179.9])
    assert came.terrain.height_at(10.0, lon) == pytest.approx(landscape(np.array(10.0), lon), abs=3)


def test_near_the_pole_there_are_no_tiles():
    with pytest.raises(BadInput, match="Tiles end at 85° of latitude; the site lies at 86.00° N"):
        tiles_around(86.0, 0.0)


# What comes


def test_the_landscape_comes_back_as_it_was_made():
    with served() as server:
        came = fetched_from(server)
    assert came.words == f"All {len(tiles_around(*HERE))} tiles came."
    assert came.terrain.source == "elevation tiles from 127.0.0.1"
    for distance_m, within_m in ((0, 0.2), (2_000, 0.2), (5_500, 0.2), (15_000, 6.0), (45_000, 12.0)):
        for bearing in range(0, 360, 45):
            there = direct(*HERE, bearing, distance_m)
            # The swells rise by 3 m in 100 m; far cells hold the highest of 120 or 240 m.
            assert came.terrain.height_at(*there) == pytest.approx(landscape(*map(np.array, there)), abs=within_m)
    assert terrain_view(came.terrain, *HERE, 500.0).notes == ()
    assert len(terrain_bytes(came.terrain)) < 2_000_000


def test_every_tile_is_asked_for_once_and_we_say_who_we_are():
    progress = []
    with served() as server:
        fetched_from(server, report=lambda done, of: progress.append((done, of)))
    tiles = tiles_around(*HERE)
    assert [path for path, _ in server.asked] == [f"/{tile.zoom}/{tile.x}/{tile.y}.png" for tile in tiles]
    assert all(agent.startswith("Westering") for _, agent in server.asked)
    assert progress == [(done, len(tiles)) for done in range(1, len(tiles) + 1)]


def test_heights_are_encoded_to_a_256th_of_a_metre():
    heights = decoded(tile_png(12, 2012, 1300))
    lon = (2012 + (np.arange(256) + 0.5) / 256) / 2**12 * 360 - 180
    lat = np.degrees(np.arctan(np.sinh(np.pi * (1 - 2 * (1300 + 0.5 / 256) / 2**12))))
    assert heights[0] == pytest.approx(landscape(np.array(lat), lon), abs=PIXEL_M)


def test_transparent_pixels_are_unknown():
    from io import BytesIO

    from PIL import Image

    pixels = np.full((256, 256, 4), 128, np.uint8)
    pixels[:128, :, 3] = 0
    file = BytesIO()
    Image.fromarray(pixels).save(file, "PNG")
    heights = decoded(file.getvalue())
    assert np.isnan(heights[:128]).all() and heights[128:] == pytest.approx(128.5, abs=1e-6)


# What does not come


@pytest.mark.parametrize("answer,words", [
    (status(500), "answered with an error \\(status 500\\)"),
    (status(403), "refuses to answer us \\(status 403\\).*key"),
    (status(429), "too much to do \\(status 429\\). Try again in an hour"),
    (status(503), "too much to do \\(status 503\\)"),
    (status(404), "has nothing there \\(status 404\\)"),
    (web_page, "A web page came in place of a tile"),
    (no_picture, "no whole PNG picture"),
    (too_small, "256 × 256 pixels; one of 128 × 128 came"),
    (too_much, "more than 1 MB in one answer"),
    (slow, "took too long to answer"),
    (hang_up, "broke off in the middle"),
    (in_circles, "from one address to the next without end"),
])
def test_a_service_in_trouble_is_told_in_words_and_soon_left_alone(answer, words):
    with served(answer) as server, pytest.raises(Unavailable, match=f"No elevation came.*{words}.*still kept"):
        fetched_from(server)
    patient = 404 if answer.__qualname__.startswith("status") and "404" in words else 3
    assert len(server.asked) <= (patient if answer is not in_circles else 4)


def test_an_answer_that_trickles_in_is_given_up(monkeypatch):
    monkeypatch.setattr(elevation_tiles, "fetched", lambda *asked: fetch.fetched(*asked, longest_s=0.2))
    with served(trickle) as server, pytest.raises(Unavailable, match="took too long"):
        fetched_from(server)


def test_a_service_that_is_down_is_told_in_words():
    with served() as server:
        address = server.address
    with pytest.raises(Unavailable, match="127.0.0.1 cannot be reached. Is this machine online"):
        fetch_elevation(TileService(address, OWNER), *HERE, client=open_client(0.4))


def test_what_came_before_the_trouble_is_used_and_the_rest_is_told():
    def failing(handler, zoom, x, y):
        (well if zoom > 9 else status(500))(handler, zoom, x, y)

    with served(failing) as server:
        came = fetched_from(server)
    tiles = tiles_around(*HERE)
    near = sum(tile.zoom > 9 for tile in tiles)
    assert came.words.startswith(f"{near} of {len(tiles)} tiles came, and they are used.")
    assert came.words.endswith("(status 500). (3 ×)")
    assert len(server.asked) == near + 3
    assert not np.isnan(came.terrain.height_at(*HERE))
    assert "less than 50 km" in terrain_view(came.terrain, *HERE, 500.0).notes[0]


def test_missing_tiles_of_the_sea_do_not_stop_the_others():
    def with_holes(handler, zoom, x, y):
        (well if (x + y) % 2 else status(404))(handler, zoom, x, y)

    with served(with_holes) as server:
        came = fetched_from(server)
    assert len(server.asked) == len(tiles_around(*HERE))
    assert "has nothing there (status 404)." in came.words and "×)" in came.words


def test_the_whole_fetch_ends_in_time(monkeypatch):
    monkeypatch.setattr(elevation_tiles, "LONGEST_S", 0.0)
    with served() as server:
        came = fetched_from(server)
    assert len(server.asked) == 1
    assert "the rest was given up" in came.words


@pytest.mark.parametrize("address", [
    "", "tiles.example/{z}/{x}/{y}", "https://tiles.example/{z}/{x}", "file:///{z}/{x}/{y}", "https:///{z}/{x}/{y}",
    "https://tiles.example:port/{z}/{x}/{y}", "ftp://tiles.example/{z}/{x}/{y}",
])
def test_an_address_that_cannot_be_is_refused_by_its_field(address):
    with pytest.raises(BadInput, match="holds {z}, {x} and {y}") as caught:
        TileService(address, OWNER)
    assert caught.value.field == "address"


@pytest.mark.parametrize("host", ["a" * 70, "a..b"])
def test_a_host_that_cannot_be_is_told_in_words(host):
    with pytest.raises(Unavailable, match="cannot be reached"):
        fetch_elevation(TileService(f"http://{host}/{{z}}/{{x}}/{{y}}", OWNER), *HERE, client=open_client(0.4))


def test_an_owner_has_to_be_named():
    with pytest.raises(BadInput, match="Say whose heights") as caught:
        TileService("https://tiles.example/{z}/{x}/{y}", "  ")
    assert caught.value.field == "attribution"


def test_only_the_placeholders_are_filled():
    service = TileService("https://tiles.example/{z}/{x}/{y}.png?key={key}", OWNER)
    assert service.address_of(Tile(9, 513, 7)) == "https://tiles.example/9/1/7.png?key={key}"


def test_a_key_in_the_address_is_never_told():
    with served(status(403)) as server, pytest.raises(Unavailable) as caught:
        fetch_elevation(TileService(f"{server.address}?key=secret", OWNER), *HERE, client=open_client(0.4))
    assert "secret" not in str(caught.value)

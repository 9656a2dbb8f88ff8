"""What the plan is drawn on: the grid, a picture laid by two points, tiles."""

from io import BytesIO

import pytest
from PIL import Image

from app.place.geodesy import direct
from app.storage.pictures import LARGEST_BYTES

SITE = "/sites/merrowmere-boathouse"
GROUND = f"{SITE}/ground"
POINTS = {
    "point_1_x": "20",
    "point_1_y": "50",
    "point_1": "54.5702, -3.1316",
    "point_2_x": "180",
    "point_2_y": "50",
    "point_2": "54.5702, -3.1308",
}
TILES = {
    "kind": "tiles",
    "tiles_url": "https://tiles.example.org/{z}/{x}/{y}.png",
    "attribution": "Example maps",
    "max_zoom": "19",
}


def picture(size=(200, 100), kind="PNG"):
    kept = BytesIO()
    Image.new("RGB", size, "white").save(kept, kind)
    return kept.getvalue()


def ground(client, slug="merrowmere-boathouse"):
    return client.app.state.store.ground(slug)


def send(client, content=None, version=None, **fields):
    data = {
        "kind": "picture",
        "version": str(ground(client).version if version is None else version),
    } | fields
    files = {"picture": ("plan.png", content, "image/png")} if content is not None else None
    return client.post(GROUND, data=data, files=files, follow_redirects=False)


def test_the_grid_is_there_from_the_start(client):
    page = client.get(GROUND)
    assert page.context["form"].typed["kind"] == "blank" and page.context["laid"] is None
    assert client.get(f"{GROUND}/picture").status_code == 404


def test_a_picture_comes_back_to_be_laid_and_then_lies_under_the_plan(client):
    assert send(client, picture()).headers["location"] == GROUND
    assert "Not laid to scale yet" in client.get(GROUND).text
    assert client.get(SITE).context["shown"].desk.picture is None
    assert send(client, **POINTS).headers["location"] == SITE
    laid = client.get(SITE).context["shown"].desk.picture
    metres_apart = (
        51.7  # 0.0008° of longitude at 54.5702°: 111 320 m × cos(54.5702°) × 0.0008, to the ellipsoid's 0.2 %
    )
    assert laid.metres_per_pixel == pytest.approx(metres_apart / 160, rel=0.003)
    assert '<image class="plan__picture"' in client.get(SITE).text
    assert "a pixel is" in client.get(GROUND).text


def test_the_second_point_by_bearing_and_distance(client):
    send(client, picture())
    send(client, **POINTS | {"point_2": "", "point_2_bearing_deg": "90", "point_2_distance_m": "80"})
    lat, lon = direct(54.5702, -3.1316, 90, 80)
    second = ground(client).laying[1]
    assert (second.lat_deg, second.lon_deg) == (pytest.approx(lat), pytest.approx(lon))


def test_the_picture_is_served_drawn_anew(client):
    send(client, picture())
    served = client.get(f"{GROUND}/picture")
    assert served.headers["content-type"] == "image/webp"
    assert Image.open(BytesIO(served.content)).size == (200, 100)


def test_a_new_picture_has_to_be_laid_again(client):
    send(client, picture())
    send(client, **POINTS)
    assert send(client, picture((300, 100)), **POINTS).headers["location"] == GROUND
    assert ground(client).laying == () and ground(client).width_px == 300


def test_the_picture_waits_while_the_grid_is_drawn(client):
    send(client, picture())
    send(client, **POINTS)
    send(client, kind="blank")
    assert client.get(SITE).context["shown"].desk.picture is None
    send(client, **POINTS)
    assert client.get(SITE).context["shown"].desk.picture is not None


@pytest.mark.parametrize(
    "content,status,words",
    [
        (b"no picture at all", 422, "no picture that can be read"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", 422, "SVG drawing cannot be used"),
        (picture()[:60], 422, "no picture that can be read"),
        (b"x" * (LARGEST_BYTES + 1), 413, "up to 20 MB"),
    ],
)
def test_a_picture_that_is_none_is_told_by_its_field(client, content, status, words):
    page = send(client, content, attribution="Kept as typed")
    assert page.status_code == status
    assert words in page.context["form"].errors["picture"]
    assert "Kept as typed" in page.text and ground(client).version == 0


@pytest.mark.parametrize(
    "changed,field,words",
    [
        ({"point_1_x": "left"}, "point_1_x", "is a number"),
        ({"point_1": "the gate"}, "point_1", "without guessing"),
        ({"point_2": ""}, "point_2", "nothing came"),
        ({"point_2_x": "20"}, "point_2", "the same; pick two apart"),
        ({"point_2_bearing_deg": "90"}, "point_2_distance_m", "is a number"),
    ],
)
def test_points_with_a_fault_come_back_as_typed(client, changed, field, words):
    send(client, picture())
    page = send(client, **POINTS | changed)
    assert page.status_code == 422
    assert words in page.context["form"].errors[field]
    assert {name: page.context["form"].typed[name] for name in changed} == changed
    assert ground(client).laying == ()


def test_no_picture_to_draw_on(client):
    page = send(client)
    assert page.status_code == 422 and "Choose a picture first" in page.context["form"].errors["picture"]


def test_tiles_are_let_in_by_the_content_policy_while_a_site_shows_them(client):
    assert "tiles.example.org" not in client.get(SITE).headers["content-security-policy"]
    assert send(client, **TILES).headers["location"] == SITE
    page = client.get(SITE)
    assert "img-src 'self' data: blob: https://tiles.example.org;" in page.headers["content-security-policy"]
    assert 'data-attribution="Example maps"' in page.text and 'data-deepest="19"' in page.text
    send(client, kind="blank")
    assert "tiles.example.org" not in client.get(SITE).headers["content-security-policy"]


def test_tiles_of_several_hosts(client):
    send(client, **TILES | {"tiles_url": "https://{s}.tiles.example.org/{z}/{x}/{y}.png"})
    assert "https://*.tiles.example.org;" in client.get(SITE).headers["content-security-policy"]


@pytest.mark.parametrize(
    "changed,field,words",
    [
        ({"tiles_url": "https://tiles.example.org/"}, "tiles_url", "holds {z}, {x} and {y}"),
        ({"tiles_url": "javascript:alert(1)//{z}{x}{y}"}, "tiles_url", "begins with https://"),
        ({"tiles_url": "https://a.example; script-src *//{z}/{x}/{y}"}, "tiles_url", "begins with https://"),
        ({"tiles_url": "https://user@a.example/{z}/{x}/{y}"}, "tiles_url", "begins with https://"),
        ({"attribution": ""}, "attribution", "whose tiles"),
        ({"max_zoom": ""}, "max_zoom", "is a number"),
        ({"max_zoom": "40"}, "max_zoom", "between 0 and 24"),
        ({"kind": "painted"}, "kind", "blank, picture or tiles"),
    ],
)
def test_tiles_with_a_fault_come_back_as_typed(client, changed, field, words):
    page = send(client, **TILES | changed)
    assert page.status_code == 422
    assert words in page.context["form"].errors[field]
    assert {name: page.context["form"].typed[name] for name in changed} == changed
    assert "example" not in client.get(SITE).headers["content-security-policy"]


def test_a_stale_ground_form_shows_both(client):
    send(client, **TILES)
    page = send(client, version=0, **TILES | {"attribution": "Mine"})
    assert page.status_code == 409
    assert [(field.mine, field.theirs) for field in page.context["fields"] if field.differs] == [
        ("Mine", "Example maps")
    ]
    assert page.context["version"] == ground(client).version


def test_uploads_leave_nothing_behind_for_other_sites(client):
    send(client, picture())
    assert client.get("/sites/sandpiper-bay/ground/picture").status_code == 404

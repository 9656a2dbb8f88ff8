"""Coordinates inside geo addresses, WKT and links to maps."""

import pytest

from app.errors import BadInput
from app.place.coordinates import parse_coordinates
from app.place.positions import Coordinates


@pytest.mark.parametrize(
    ("address", "point"),
    [  # the examples of RFC 5870, sections 6.1 to 6.3, 3.3 and 3.4.4 (from memory)
        ("geo:13.4125,103.8667", Coordinates(13.4125, 103.8667)),
        ("geo:48.2010,16.3695,183", Coordinates(48.2010, 16.3695, 183.0)),
        ("geo:48.198634,16.371648;crs=wgs84;u=40", Coordinates(48.198634, 16.371648, None, 40.0)),
        ("geo:90,-22.43;crs=WGS84", Coordinates(90.0, -22.43)),
        ("geo:66,30;u=6.500;FOo=this%2dthat", Coordinates(66.0, 30.0, None, 6.5)),
        ("GEO:-33.9,18.4,-2.5", Coordinates(-33.9, 18.4, -2.5)),
    ],
)
def test_geo_addresses_are_read(address, point):
    assert parse_coordinates(address) == point


@pytest.mark.parametrize(
    ("address", "words"),
    [
        ("geo:323482,4306480;crs=EPSG:32618;u=20", "latitude lies between"),
        ("geo:48.2,16.4;crs=nad27", "“nad27”; only wgs84"),
        ("geo:48.2,16.4;u=near", "uncertainty .* “near” is none"),
        ("geo:0,0?q=48.2,16.4", "is no geo address"),
        ("geo:48.2", "is no geo address"),
        ("geo:48,2,16,4,1", "is no geo address"),
        ("geo:103.8667,13.4125", "swapped: latitude comes first"),
    ],
)
def test_geo_addresses_that_cannot_be_used_say_why(address, words):
    with pytest.raises(BadInput, match=words):
        parse_coordinates(address)


@pytest.mark.parametrize(
    "text",
    ["POINT(-2.5879 51.4545)", "point (-2.5879 51.4545)", "SRID=4326;POINT(-2.5879 51.4545)"],
)
def test_a_wkt_point_has_its_longitude_first(text):
    assert parse_coordinates(text) == Coordinates(51.4545, -2.5879)


def test_a_wkt_point_may_have_a_height():
    assert parse_coordinates("POINT Z (-2.5879 51.4545 12.5)") == Coordinates(51.4545, -2.5879, 12.5)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("POINT (13.4 103.8)", "swapped: longitude comes first"),
        ("POINT EMPTY", "is no WKT point"),
        ("SRID=27700;POINT(-2.5 51.4)", "is no WKT point in WGS84"),
    ],
)
def test_wkt_that_cannot_be_used_says_why(text, words):
    with pytest.raises(BadInput, match=words):
        parse_coordinates(text)


@pytest.mark.parametrize(
    "link",
    [
        "https://map.example/#map=15/51.4545/-2.5879",
        "https://map.example/?mlat=51.4545&mlon=-2.5879#map=12/50.1/1.2",
        "https://map.example/?mlon=-2.5879&mlat=51.4545",
        "https://map.example/maps/@51.4545,-2.5879,17z",
        "https://map.example/maps/place/x/@50,1,17z/data=!3m1!4b1!8m2!3d51.4545!4d-2.5879",
        "https://map.example/?q=51.4545,-2.5879",
        "https://map.example/?query=51.4545%2C-2.5879&z=3",
        "https://map.example/?z=3&ll=51.4545,+-2.5879",
        "https://map.example/?q=loc:51.4545,-2.5879(here)",
        "map.example/?ll=51.4545,-2.5879",
        "#map=15/51.4545/-2.5879",
        "@51.4545,-2.5879,17z",
        "ll=51.4545,-2.5879",
    ],
)
def test_links_to_maps_are_read_and_a_marked_point_comes_before_the_view(link):
    assert parse_coordinates(link) == Coordinates(51.4545, -2.5879)


@pytest.mark.parametrize("link", ["https://short.example/x7Kq", "https://map.example/?q=Some+harbour"])
def test_links_without_coordinates_say_that_no_network_is_asked(link):
    with pytest.raises(BadInput, match="short link has to be followed over the network, which is not done"):
        parse_coordinates(link)


def test_a_link_with_several_points_is_asked_back():
    with pytest.raises(BadInput, match="several points"):
        parse_coordinates("https://map.example/dir/data=!3d51.4!4d-2.5!3d51.5!4d-2.6")


def test_a_link_off_the_earth_says_so():
    with pytest.raises(BadInput, match="swapped: latitude comes first"):
        parse_coordinates("https://map.example/#map=15/103.8/1.35")

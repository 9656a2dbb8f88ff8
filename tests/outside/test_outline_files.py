"""OpenStreetMap's own export: ways, courtyards and what is missing, as obstacles of a site."""

import pytest

from app.errors import BadInput
from app.outside.outline_files import read_outlines
from app.place.outlines import obstacles_from_outlines
from tests.place.venue import HERE, box, corners

WHERE = (HERE.lat_deg, HERE.lon_deg)


def export(ways, rest=""):
    """An export with a way of its own nodes for each box of metres; tags as text."""
    nodes, found = [], []
    for number, (metres, tags) in ways.items():
        ids = [number * 10 + n for n in range(len(metres))]
        nodes += [f'<node id="{one}" lat="{lat}" lon="{lon}"/>' for one, (lon, lat) in zip(ids, corners(metres), strict=True)]
        found.append(f'<way id="{number}">{"".join(f"""<nd ref="{one}"/>""" for one in [*ids, ids[0]])}{tags}</way>')
    return f'<?xml version="1.0"?><osm version="0.6">{"".join(nodes + found)}{rest}</osm>'.encode()


def features(data):
    return obstacles_from_outlines(read_outlines(data), *WHERE, 300.0).features


def test_a_way_with_its_nodes_becomes_a_building():
    (barn,) = features(export({5: (box(10, 20, 10, 20), '<tag k="building" v="barn"/><tag k="height" v="7"/>')}))
    assert (barn["id"], barn["properties"]["top_m"]) == ("osm-way-5", 7.0)


def test_a_relation_has_its_courtyard():
    members = '<member type="way" ref="1" role="outer"/><member type="way" ref="2" role="inner"/>'
    tags = '<tag k="type" v="multipolygon"/><tag k="building" v="yes"/>'
    ways = {1: (box(0, 40, 0, 40), ""), 2: (box(10, 30, 10, 30), "")}
    found = {one["id"]: one for one in features(export(ways, f'<relation id="9">{members}{tags}</relation>'))}
    assert [len(ring) for ring in found["osm-relation-9"]["geometry"]["coordinates"]] == [5, 5]


def test_a_way_of_which_nodes_are_missing_is_no_half_building():
    whole = export({5: (box(10, 20, 10, 20), '<tag k="building" v="yes"/>')})
    cut = whole.replace(b'<node id="52"', b'<node id="999"').replace(b'<node id="53"', b'<node id="998"')
    assert features(cut) == ()


def test_other_files_go_on_as_they_came():
    assert read_outlines(b'{"features": []}') == b'{"features": []}'


@pytest.mark.parametrize("data", [b"<", b"<osm>", b"<osm></way></osm>", b"<osm>\xff</osm>"])
def test_damaged_xml_is_told(data):
    with pytest.raises(BadInput, match="breaks off or is damaged in line 1"):
        read_outlines(data)

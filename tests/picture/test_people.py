"""People's outlines against shapely as referee, and their true heights."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Point, Polygon
from shapely.ops import unary_union

from app.errors import BadInput
from app.picture.people import Person, Solid, depth_m, solids

COUPLE = (Person("Ines", 1.68), Person("Tomasz", 1.83))


def outline(solid: Solid) -> Polygon:
    return Polygon(np.column_stack(solid.outline_m(400)))


@given(st.floats(-1, 1), st.floats(0, 2), st.sampled_from(range(8)))
def test_depth_is_the_distance_to_the_outline(across, up, which):
    """shapely measures to a 400-cornered outline, 0.1 mm inside the true curve."""
    solid = solids(COUPLE)[which]
    shape = outline(solid)
    distance = shape.exterior.distance(Point(across, up)) * (1 if shape.contains(Point(across, up)) else -1)
    assert solid.depth_m(across, up) == pytest.approx(distance, abs=3e-4)


def test_everybody_is_as_tall_as_they_are():
    for person, side in zip(COUPLE, (-0.25, 0.25), strict=True):
        head = next(solid for solid in solids(COUPLE) if solid.across_m == side)
        assert head.high_m + head.high_radius_m == pytest.approx(person.height_m)
        assert min(s.low_m - s.low_radius_m for s in solids(COUPLE) if s.across_m == side) == pytest.approx(0, abs=0.01)


def test_head_and_shoulders_have_the_proportions_quoted():
    """Drillis & Contini (1966), from memory: head 0.130 and shoulders 0.259 of the height; drawn within a hundredth."""
    head, _, trunk, _ = solids((Person("", 1.0),))
    assert head.high_m + head.high_radius_m - (head.low_m - head.low_radius_m) == pytest.approx(0.130, abs=0.01)
    assert 2 * trunk.high_radius_m == pytest.approx(0.259, abs=0.01)


def test_a_body_hangs_together():
    assert unary_union([outline(solid) for solid in solids((Person("", 1.75),))]).geom_type == "Polygon"


@pytest.mark.parametrize("shape", [(), (3,), (2, 3)])
def test_keeps_the_shape_of_its_input(shape):
    assert np.shape(depth_m(solids(COUPLE), np.zeros(shape), np.ones(shape))) == shape


@pytest.mark.parametrize("height", [0, -1.7, 17, float("nan")])
def test_an_impossible_height_is_refused_in_words(height):
    with pytest.raises(BadInput, match="height is between 0.3 and 2.6 m"):
        Person("", height)

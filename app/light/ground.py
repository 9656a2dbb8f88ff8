"""What the ground sends back of the light."""

from app.errors import BadInput
from app.units import listed

# Share of the *visible* light. T. R. Oke, *Boundary Layer Climates*, 2nd ed. (1987), tables 1.1 and
# 8.2, has for all of the sun's heat: grass 0.16 to 0.26, sand 0.20 to 0.45, water under a high sun
# 0.03 to 0.10, stone 0.20 to 0.35, snow 0.40 to 0.95. Leaves send back little of the visible part,
# about 0.1. All from memory; a wet ground is about half as bright.
ALBEDO = {"grass": 0.10, "sand": 0.30, "water": 0.06, "stone": 0.25, "snow": 0.80}


def albedo_of(ground: str) -> float:
    """Return the share of visible light that a kind of ground sends back; ``BadInput`` names the kinds."""
    if ground not in ALBEDO:
        raise BadInput(f"The ground is {listed(ALBEDO)}; “{str(ground)[:40]}” came.", "ground")
    return ALBEDO[ground]

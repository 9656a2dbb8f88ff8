"""Which sites are kept, and what each holds."""

from typing import Any

from app.picture.setup import Setup
from app.web.scenes import looks_of
from app.web.shelf import KeptSite, Shelf


def sites_answer(shelf: Shelf) -> dict[str, Any]:
    """Return every site's address and name, in the order of names."""
    return {"sites": [{"site": summary.slug, "name": summary.name} for summary in shelf.store.sites()]}


def site_answer(kept: KeptSite) -> dict[str, Any]:
    """Return where a site is and what its setups are."""
    centre = kept.site.centre
    return {
        "site": kept.slug,
        "name": kept.site.name,
        "lat_deg": centre.lat_deg,
        "lon_deg": centre.lon_deg,
        "height_m": centre.height_m,
        "time_zone": kept.site.time_zone,
        "setups": [_setup(setup) for setup in kept.setups()],
    }


def _setup(setup: Setup) -> dict[str, Any]:
    return {
        "id": setup.id,
        "name": setup.name,
        "line_deg": round(setup.line_deg, 4),
        "distance_m": round(setup.distance_m, 3),
        "looks": [wanted.name for wanted in looks_of(setup)],
    }

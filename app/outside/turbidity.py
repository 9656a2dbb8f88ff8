"""How hazy the air mostly is at a place: the monthly climatology that pvlib ships, read from its file."""

from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path

import numpy as np

from app.units import FloatArray

CELLS_PER_DEG = 12
PER_UNIT = 20.0  # the file keeps twentieths


def monthly_turbidity(lat_deg: float, lon_deg: float) -> FloatArray:
    """Return the Linke turbidity of a place in the middle of each month, January first: shape (12,).

    J. Remund, L. Wald, M. Lefèvre, T. Ranchin & J. Page, “Worldwide Linke turbidity
    information”, ISES Solar World Congress (2003), on a grid of 5′ as shipped with pvlib.
    """
    row = int(np.clip(np.floor((90.0 - lat_deg) * CELLS_PER_DEG), 0, 180 * CELLS_PER_DEG - 1))
    column = int(np.floor((lon_deg + 180.0) * CELLS_PER_DEG)) % (360 * CELLS_PER_DEG)
    return _cell(row, column)


@lru_cache(maxsize=512)
def _cell(row: int, column: int) -> FloatArray:
    """Return one cell of the grid. The file is packed in blocks, of which this unpacks six: 6 ms."""
    import h5py  # pvlib brings it for this file; 70 ms, so only when a place is first asked about

    folder = Path(find_spec("pvlib").origin).parent  # found, not imported: pvlib itself would cost half a second
    with h5py.File(folder / "data" / "LinkeTurbidities.h5", "r") as file:
        kept = file["LinkeTurbidity"][row, column] / PER_UNIT
    kept.flags.writeable = False
    return kept

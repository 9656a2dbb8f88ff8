"""Clear-sky illuminance against the tables it was published with."""

import numpy as np
import pytest

from app.light.daylight import horizontal_illuminance_lux
from tests.reference_data import rows

TABLE = rows("illuminance-vs-altitude")


@pytest.mark.parametrize("row", [row for row in TABLE if float(row["sun_altitude_true_deg"]) >= -18], ids=lambda row: row["sun_altitude_true_deg"])
def test_explanatory_supplement_column(row):
    """Explanatory Supplement (1992), column A of the table; four digits are printed."""
    lux = horizontal_illuminance_lux(float(row["sun_altitude_true_deg"]))
    assert lux == pytest.approx(float(row["explsuppl1992_polynomial_lx"]), rel=2e-3)


@pytest.mark.parametrize("row", [row for row in TABLE if -8 <= float(row["sun_altitude_true_deg"]) <= 90], ids=lambda row: row["sun_altitude_true_deg"])
def test_within_half_a_stop_of_usno_circular_171(row):
    """Janiczek & DeYoung, USNO Circular 171 (1987): another author's charts, so a third of a stop apart by nature."""
    lux = horizontal_illuminance_lux(float(row["sun_altitude_true_deg"]))
    assert abs(np.log2(lux / float(row["usno_circ171_lx_at_apparent_equal_true"]))) < 0.5

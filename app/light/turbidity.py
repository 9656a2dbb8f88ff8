"""How hazy the air mostly is, by the time of year."""

import numpy as np

from app.units import FloatArray, FloatOrArray

YEAR_S = 365.2425 * 86_400.0
MEAN_YEAR = np.full(12, 3.0)  # where no climatology is at hand: clear air of middle latitudes
_MID_MONTHS = (np.arange(12) + 0.5) / 12.0  # of the year; a month is within a day and a half of a twelfth


def turbidity_at(monthly: FloatArray, utc_s: FloatOrArray) -> FloatArray:
    """Return the Linke turbidity that a place has on average at a time of year.

    Parameters
    ----------
    monthly : shape (12,)
        In the middle of each month, January first.
    utc_s : any shape
        Instants, seconds since 1970 UTC. [s]

    Returns
    -------
    same shape
        At air mass 2: 2 is very clear, 3 clear, 4 to 6 moist and hazy; straight between
        the middles of the months. Any one day may well be 1 more or less.
    """
    season = np.asarray(utc_s, dtype=float) / YEAR_S % 1.0
    return np.interp(season, _MID_MONTHS, monthly, period=1.0)

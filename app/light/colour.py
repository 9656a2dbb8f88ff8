"""The colour of light: from a spectrum to chromaticity, to colour temperature, and mixed."""

import numpy as np
from numpy.typing import ArrayLike

from app.units import FloatArray

WAVES_NM = np.arange(380.0, 781.0, 10.0)

# C. Wyman, P.-P. Sloan & P. Shirley, *J. Comput. Graph. Tech.* 2 (2013) no. 2: for each curve its
# humps as height, middle, width to the left and width to the right. [1, nm, nm, nm]
_HUMPS = (
    ((1.056, 599.8, 37.9, 31.0), (0.362, 442.0, 16.0, 26.7), (-0.065, 501.1, 20.4, 26.2)),
    ((0.821, 568.8, 46.9, 40.5), (0.286, 530.9, 16.3, 31.1)),
    ((1.217, 437.0, 11.8, 36.0), (0.681, 459.0, 26.0, 13.8)),
)
SECOND_RADIATION_NM_K = 1.4388e7  # h c / k


def _hump(height: float, middle_nm: float, left_nm: float, right_nm: float) -> FloatArray:
    off_nm = WAVES_NM - middle_nm
    return height * np.exp(-0.5 * (off_nm / np.where(off_nm < 0, left_nm, right_nm)) ** 2)


# The CIE 1931 observer at ``WAVES_NM``: x̄, ȳ, z̄, shape (3, waves); good to about 1 %.
OBSERVER = np.array([sum(_hump(*hump) for hump in curve) for curve in _HUMPS])


def black_body(temperature_k: float) -> FloatArray:
    """Return the spectrum of a black body at ``WAVES_NM`` by Planck's law, the mean made 1."""
    spectrum = WAVES_NM**-5.0 / np.expm1(SECOND_RADIATION_NM_K / (WAVES_NM * temperature_k))
    return spectrum / spectrum.mean()


def chromaticity(spectrum: ArrayLike) -> FloatArray:
    """Return the CIE 1931 x and y, shape (2, ...), of spectra at ``WAVES_NM``, shape (waves, ...)."""
    stimulus = np.tensordot(OBSERVER, np.asarray(spectrum, dtype=float), axes=1)
    return stimulus[:2] / stimulus.sum(axis=0)


def daylight_xy(temperature_k: ArrayLike) -> FloatArray:
    """Return the chromaticity of daylight of a colour temperature.

    Parameters
    ----------
    temperature_k : any shape
        4000 to 25 000 K. [K]

    Returns
    -------
    shape (2, ...)
        x and y; NaN outside the range.

    Notes
    -----
    CIE 15, formula for the daylight illuminants: D65, 6504 K, has 0.3127 and 0.3290.
    """
    kelvin = np.asarray(temperature_k, dtype=float)
    kelvin = np.where((kelvin >= 4000.0) & (kelvin <= 25_000.0), kelvin, np.nan)
    warm = -4.6070e9 / kelvin**3 + 2.9678e6 / kelvin**2 + 99.11 / kelvin + 0.244063
    cool = -2.0064e9 / kelvin**3 + 1.9018e6 / kelvin**2 + 247.48 / kelvin + 0.237040
    x = np.where(kelvin <= 7000.0, warm, cool)
    return np.stack([x, -3.0 * x**2 + 2.870 * x - 0.275])


def colour_temperature_k(xy: ArrayLike) -> FloatArray:
    """Return the correlated colour temperature of chromaticities of shape (2, ...). [K]

    The black body nearest in the CIE 1960 u, v, as CIE 15 defines it, found along a table and
    between its steps by a parabola: Y. Ohno, *Leukos* 10 (2014) 47. Held to 1000..40 000 K.
    """
    u, v = _uv(np.asarray(xy, dtype=float))
    far = (_LOCUS_UV[0].reshape(-1, *[1] * u.ndim) - u) ** 2 + (_LOCUS_UV[1].reshape(-1, *[1] * v.ndim) - v) ** 2
    nearest = np.clip(np.argmin(far, axis=0), 1, len(_LOCUS_MIRED) - 2)
    before, at, after = (np.take_along_axis(far, (nearest + step)[np.newaxis], axis=0)[0] for step in (-1, 0, 1))
    bend = before - 2.0 * at + after
    shift = np.clip(0.5 * (before - after) / np.where(bend > 0, bend, 1.0), -1.0, 1.0)
    mired = _LOCUS_MIRED[0] + (nearest + shift) * (_LOCUS_MIRED[1] - _LOCUS_MIRED[0])
    return 1e6 / np.where(np.isnan(u), np.nan, mired)


def mixed_xy(*lights: tuple[ArrayLike, ArrayLike]) -> FloatArray:
    """Return the chromaticity of lights that fall together.

    Parameters
    ----------
    *lights : (xy, lux)
        Each with its chromaticity, shape (2, ...), and its illuminance, shape (...).

    Returns
    -------
    shape (2, ...)
        NaN where there is no light at all.
    """
    total = sum(np.asarray(lux) * _stimulus(np.asarray(xy)) for xy, lux in lights)
    amount = total.sum(axis=0)
    return total[:2] / np.where(amount > 0, amount, np.nan)


def _stimulus(xy: FloatArray) -> FloatArray:
    """Return X, Y and Z of one lux, shape (3, ...)."""
    x, y = xy
    return np.stack([x / y, np.ones_like(y), (1.0 - x - y) / y])


def _uv(xy: FloatArray) -> FloatArray:
    """Return CIE 1960 u and v."""
    x, y = xy
    return np.stack([4.0 * x, 6.0 * y]) / (-2.0 * x + 12.0 * y + 3.0)


_LOCUS_MIRED = np.linspace(25.0, 1000.0, 157)
_LOCUS_UV = _uv(chromaticity(np.stack([black_body(1e6 / mired) for mired in _LOCUS_MIRED], axis=1)))

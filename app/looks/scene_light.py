"""The light over a scene: what a setup asks of it, how hazy the air is, and what a meter found."""

from collections.abc import Hashable
from dataclasses import dataclass, field
from typing import Any

from app.light.turbidity import MEAN_YEAR, turbidity_at
from app.looks.light_plan import LightPlan
from app.units import FloatArray, FloatOrArray


@dataclass(frozen=True, eq=False)
class SceneLight:
    """What margins of light go by.

    Attributes
    ----------
    plan : LightPlan
        Exposure, faces and lights.
    monthly_linke : shape (12,)
        Linke turbidity in the middle of each month, January first.
    cover : float
        Share of the sky under cloud, 0..1.
    correction_stops : float
        By how much a meter found it brighter than reckoned. [stop]
    known : dict
        What has been worked out for it already, by those who keep it there.
    """

    plan: LightPlan
    monthly_linke: FloatArray = field(default_factory=lambda: MEAN_YEAR)
    cover: float = 0.0
    correction_stops: float = 0.0
    known: dict[Hashable, Any] = field(default_factory=dict, repr=False)

    def linke(self, utc_s: FloatOrArray) -> FloatArray:
        """Return the Linke turbidity of some instants, any shape."""
        return turbidity_at(self.monthly_linke, utc_s)

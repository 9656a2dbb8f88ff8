"""A look: what the photographer wants from a setup, as a name and the margins it asks for."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from app.errors import BadInput
from app.looks.margin import Margin, Scene
from app.units import number

BOUND_WORDS = {
    "tolerance_deg": "sun off the line, at most",
    "highest_deg": "sun above level, at most",
    "lowest_deg": "sun below level, at most",
    "offset_deg": "sun right of the line (left negative)",
    "altitude_deg": "sun above level",
}


@dataclass(frozen=True)
class Look:
    """One kind of look.

    Attributes
    ----------
    name : str
        As typed in a site file and shown on a page.
    means : str
        One sentence for the photographer.
    margins : function of Scene and its bounds
        Its conditions; bounds come by keyword.
    bounds : mapping of str to float or pair of floats
        What a setup may change, with the defaults. [°]
    words : mapping of str to str
        What a form calls those bounds that mean something else here than ``BOUND_WORDS`` says.
    sun_in_picture : bool
        Whether the lens is turned at the sun, so that the caution is shown.
    place_by_place : bool
        Whether its margins ask of all that lies around a place, as water does: then
        places are tried one by one, not thousands at once.
    """

    name: str
    means: str
    margins: Callable[..., tuple[Margin, ...]]
    bounds: Mapping[str, Any] = field(default_factory=dict)
    words: Mapping[str, str] = field(default_factory=dict)
    sun_in_picture: bool = False
    place_by_place: bool = False


    def called(self, bound: str) -> str:
        """Return what a form calls a bound, its unit left out; its bare name where nobody gave it words."""
        return self.words.get(bound) or BOUND_WORDS.get(bound) or bound


@dataclass(frozen=True)
class WantedLook:
    """A look with the bounds one setup gives it."""

    look: Look
    bounds: Mapping[str, Any]

    @property
    def name(self) -> str:
        return self.look.name

    def margins(self, scene: Scene) -> tuple[Margin, ...]:
        """Return the conditions for one scene."""
        return self.look.margins(scene, **self.bounds)


def wanted_look(looks: Mapping[str, Look], typed: Any) -> WantedLook:
    """Return the look that a site file asks for.

    ``typed`` is a name, or a mapping with ``look`` and bounds. Raises
    ``BadInput`` for an unknown look or bound, listing the known ones.
    """
    given = {"look": typed} if isinstance(typed, str) else typed
    if not isinstance(given, Mapping) or not isinstance(given.get("look"), str):
        raise BadInput("A look is a name, or {“look”: name, …} with its bounds.", "looks")
    look = looks.get(given["look"].strip().lower())
    if not look:
        raise BadInput(f"There is no look “{given['look'][:40]}”; there are: {', '.join(looks)}.", "looks")
    changed = {key: value for key, value in given.items() if key != "look"}
    unknown = [key for key in changed if key not in look.bounds]
    if unknown:
        known = ", ".join(look.bounds) or "none"
        raise BadInput(f"The look “{look.name}” has no bound “{unknown[0][:40]}”; it has: {known}.", "looks")
    return WantedLook(look, {**look.bounds, **{key: _bound(look, key, value) for key, value in changed.items()}})


def _bound(look: Look, key: str, value: Any) -> Any:
    """Return a bound of the same kind as the look's own: one number, or two in order."""
    called = f"{look.name}: {key}"
    if not isinstance(look.bounds[key], tuple):
        return _number(value, called, 0.1)
    if not isinstance(value, list | tuple) or len(value) != 2:
        raise BadInput(f"{called} is two numbers, low and high.", "looks")
    low, high = (_number(side, called, -180) for side in value)
    if not high - low > 0.1:
        raise BadInput(f"{called} goes from low to high, at least 0.1° apart; {low:g} to {high:g} came.", "looks")
    return low, high


def _number(value: Any, called: str, low: float) -> float:
    try:
        return number(value, called, low, 180)
    except ValueError as error:
        raise BadInput(str(error), "looks") from error

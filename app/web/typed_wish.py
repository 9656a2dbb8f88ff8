"""A wish of a shoot as the texts of its form, and back."""

from collections.abc import Iterable
from dataclasses import replace

from app.errors import BadInput
from app.looks.catalogue import LOOKS
from app.shoot.shoot import (
    LEAST_WEIGHT,
    LONGEST_PAUSE_MIN,
    LONGEST_SLOT_MIN,
    MOST_WEIGHT,
    Shoot,
    Wish,
    spot_of,
)
from app.shoot.words import clock
from app.units import number
from app.web.forms import Form, typed
from app.web.shelf import KeptSite
from app.web.shoots import free_id
from app.web.typed_shoot import read_instant, whole

MINUTES = {
    "shortest_min": ("The shortest time, in minutes,", 1, LONGEST_SLOT_MIN),
    "ideal_min": ("The ideal time, in minutes,", 1, LONGEST_SLOT_MIN),
    "change_before_min": ("Changing clothes, in minutes,", 0, LONGEST_PAUSE_MIN),
    "lights_min": ("Setting up lights, in minutes,", 0, LONGEST_PAUSE_MIN),
}
USUAL = {"shortest_min": 10, "ideal_min": 20, "change_before_min": 0, "lights_min": 0}


def look_tick(name: str) -> str:
    """Return the name of a look's tick."""
    return f"look_{name.replace(' ', '_')}"


def new_wish_typed(spot: str) -> dict[str, str]:
    """Return the form of a wish that is not there yet."""
    return {"spot": spot, "weight": "1", "must": "may", **{name: str(minutes) for name, minutes in USUAL.items()}}


def wish_typed(shoot: Shoot, wish: Wish, bring: str, aside: bool) -> dict[str, str]:
    """Return what the form of a wish holds."""
    fixed = wish.fixed_start_utc_s
    return {
        "spot": wish.spot,
        "name": wish.name,
        **{look_tick(name): "yes" for name in wish.looks},
        **{name: str(getattr(wish, name)) for name in MINUTES},
        "weight": f"{wish.weight:g}",
        "must": "must" if wish.must else "may",
        **{f"after-{one}": "yes" for one in wish.after},
        **{f"before-{one.id}": "yes" for one in shoot.wishes if wish.id in one.after},
        "fixed_start": "" if fixed is None else clock(shoot, fixed),
        "standby": wish.standby or "",
        "notes": wish.notes,
        "bring": bring,
        "aside": "yes" if aside else "",
    }


def read_wish(form: Form, shoot: Shoot, spots: Iterable[str], before: Wish | None) -> tuple[Shoot, str] | None:
    """Return the shoot with the wish that a form describes, and the wish's id; None with the form's errors filled.

    ``spots`` are the setups there are, as “site/setup”; ``before`` is the wish being
    changed, None for a new one.
    """
    there = set(spots)
    spot = form.read("spot", lambda text: _known_spot(text, there))
    facts = {name: form.read(name, lambda text, terms=terms: whole(text, *terms), USUAL[name]) for name, terms in MINUTES.items()}
    facts["weight"] = form.read("weight", lambda text: number(text, "The weight", LEAST_WEIGHT, MOST_WEIGHT), 1.0)
    facts["fixed_start_utc_s"] = read_fixed(form, "fixed_start", shoot)
    site, _, setup = (spot or "").partition("/")
    if spot and form.text("standby"):
        form.read("standby", lambda text: _known_standby(spot_of(site, text), there))
    if form.errors or spot is None:
        return None
    try:
        wish = Wish(
            id=before.id if before else free_id(shoot, setup),
            site=site,
            setup=setup,
            name=" ".join(form.text("name").split()),
            looks=tuple(name for name in LOOKS if form.text(look_tick(name))),
            must=form.text("must") == "must",
            after=tuple(one.id for one in shoot.wishes if form.text(f"after-{one.id}")),
            standby=form.text("standby") or None,
            notes=form.text("notes"),
            **facts,
        )
        return _with_wish(form, shoot, wish), wish.id
    except BadInput as error:
        form.blame(error, "spot")
        return None


def read_fixed(form: Form, name: str, shoot: Shoot) -> float | None:
    """Return a beginning typed by hand, None for an empty field or with the form's errors filled. [s since 1970 UTC]"""
    return form.read(name, lambda text: read_instant(shoot.zone, shoot.day, text)) if form.text(name) else None


def with_fixed(shoot: Shoot, wish_id: str, text: str) -> Shoot:
    """Return the shoot with a slot's beginning fixed as typed, or free where nothing was typed."""
    wish = shoot.wish(wish_id)
    at = typed(lambda told: read_instant(shoot.zone, shoot.day, told), text, "fixed_start") if text.strip() else None
    changed = replace(wish, fixed_start_utc_s=at)
    return replace(shoot, wishes=tuple(changed if one.id == wish_id else one for one in shoot.wishes))


def all_free(shoot: Shoot) -> Shoot:
    """Return the shoot without any beginning fixed by hand."""
    return replace(shoot, wishes=tuple(replace(wish, fixed_start_utc_s=None) for wish in shoot.wishes))


def _known_standby(spot: str, spots: set[str]) -> str:
    if spot not in spots:
        raise ValueError("A standby is a setup of the same site; choose one from the list again.")
    return spot


def _known_spot(text: str, spots: set[str]) -> str:
    if text not in spots:
        raise ValueError(f"Choose a setup from the list; “{text[:60]}” is not there any more.")
    return text


def _with_wish(form: Form, shoot: Shoot, wish: Wish) -> Shoot:
    """Put a wish into its place or at the end, and say in the others which come after it."""
    others = tuple(_told_before(form, one, wish) for one in shoot.wishes)
    if any(one.id == wish.id for one in others):
        return replace(shoot, wishes=tuple(wish if one.id == wish.id else one for one in others))
    return replace(shoot, wishes=(*others, wish))


def _told_before(form: Form, other: Wish, wish: Wish) -> Wish:
    kept = tuple(one for one in other.after if one != wish.id)
    return replace(other, after=(*kept, wish.id) if form.text(f"before-{other.id}") and other.id != wish.id else kept)


def spot_names(kept_sites: Iterable[KeptSite]) -> tuple[tuple[str, str], ...]:
    """Return every setup of kept sites as “site/setup”, with the words to choose it by."""
    return tuple(
        (spot_of(kept.slug, setup.id), f"{kept.site.name}: {setup.name}") for kept in kept_sites for setup in kept.setups()
    )

"""The setups that a shoot wants: adding, changing and removing one, and fixing when its slot begins."""

from dataclasses import dataclass, replace
from typing import ClassVar

from fastapi import APIRouter, Request, Response

from app.errors import NotFound
from app.looks.catalogue import LOOKS
from app.shoot.shoot import MOST_WISHES, Wish, spot_of
from app.web.conflicts import Posted, checked, is_stale
from app.web.forms import Form
from app.web.orders import shoot_page
from app.web.render import render
from app.web.routes.shoots import CHANGED, back_to
from app.web.shelf import Shelf, Sites
from app.web.shoots import OpenShoot, Shoots, ShootShelf, without
from app.web.typed_wish import (
    all_free,
    look_tick,
    new_wish_typed,
    read_wish,
    spot_names,
    wish_typed,
    with_fixed,
)

router = APIRouter()


@dataclass(frozen=True)
class WishPage:
    """All that shoot_wish.html may use; ``wish`` is None for a new one."""

    template: ClassVar[str] = "shoot_wish.html"
    opened: OpenShoot
    form: Form
    wish: Wish | None
    spots: tuple[tuple[str, str], ...]
    changed: str = ""

    @property
    def others(self) -> tuple[Wish, ...]:
        """The other wishes, for what comes before and after."""
        return tuple(one for one in self.opened.whole.wishes if self.wish is None or one.id != self.wish.id)

    @property
    def looks(self) -> tuple[tuple[str, str, str], ...]:
        """Every look as its tick, its name and what it means."""
        return tuple((look_tick(look.name), look.name, look.means) for look in LOOKS.values())

    @property
    def standbys(self) -> tuple[tuple[str, str], ...]:
        """Setups that may stand by as the select takes them: those of the wish's site, of every site for a new one."""
        site = self.form.text("spot").partition("/")[0]
        near = [(spot.partition("/")[2], words.partition(": ")[2]) for spot, words in self.spots if not site or spot.startswith(f"{site}/")]
        return (("", "let it be proposed"), *near)

    @property
    def full(self) -> bool:
        """Whether no more wishes fit."""
        return self.wish is None and len(self.opened.whole.wishes) >= MOST_WISHES


@router.get("/shoots/{shoot}/wishes/new", name="new_wish")
def new_wish(request: Request, shoot: str, shelf: Shoots, sites: Sites, site: str = "", setup: str = "") -> Response:
    """An empty form for one more setup, at a setup or a site if one is named."""
    opened, spots = shelf.shoot(shoot), spot_names(sites.sites())
    last = opened.whole.wishes[-1].site if opened.whole.wishes else ""
    near = [spot for spot, _ in spots if spot == spot_of(site, setup)] or [spot for spot, _ in spots if spot.startswith(f"{site or last}/")]
    return render(request, WishPage(opened, Form(new_wish_typed(next(iter(near), ""))), None, spots))


@router.post("/shoots/{shoot}/wishes/new")
def add_wish(request: Request, shoot: str, form: Posted, shelf: Shoots, sites: Sites) -> Response:
    """Put one more setup on the list."""
    return _save_wish(request, shelf, shelf.shoot(shoot), form, None, sites)


@router.get("/shoots/{shoot}/wishes/{wish}", name="wish")
def show_wish(request: Request, shoot: str, wish: str, shelf: Shoots, sites: Sites) -> Response:
    """One setup's terms, to be changed."""
    opened = shelf.shoot(shoot)
    return render(request, WishPage(opened, _typed(opened, wish_of(opened, wish)), wish_of(opened, wish), spot_names(sites.sites())))


@router.post("/shoots/{shoot}/wishes/{wish}")
def save_wish(request: Request, shoot: str, wish: str, form: Posted, shelf: Shoots, sites: Sites) -> Response:
    """Keep changed terms."""
    opened = shelf.shoot(shoot)
    return _save_wish(request, shelf, opened, form, wish_of(opened, wish), sites)


@router.post("/shoots/{shoot}/wishes/{wish}/remove", name="remove_wish")
def remove_wish(request: Request, shoot: str, wish: str, form: Posted, shelf: Shoots, sites: Sites) -> Response:
    """Take a setup off the list."""
    opened = shelf.shoot(shoot)
    found = wish_of(opened, wish)
    if is_stale(form, opened.version):
        return render(request, WishPage(opened, _typed(opened, found), found, spot_names(sites.sites()), CHANGED), 409)
    bring = {one: text for one, text in opened.telling.bring.items() if one != wish}
    shelf.save(opened, opened.version, whole=without(opened.whole, [wish]), telling=replace(opened.telling, bring=bring))
    return back_to(request, shoot)


@router.post("/shoots/{shoot}/slots", name="free_slots")
def free_slots(request: Request, shoot: str, form: Posted, shelf: Shoots) -> Response:
    """Let go of every beginning fixed by hand."""
    opened = shelf.shoot(shoot)
    if is_stale(form, opened.version):
        return render(request, shoot_page(opened, CHANGED, form), 409)
    shelf.save(opened, opened.version, whole=all_free(opened.whole))
    return back_to(request, shoot)


@router.post("/shoots/{shoot}/slots/{wish}", name="fix_slot")
def fix_slot(request: Request, shoot: str, wish: str, form: Posted, shelf: Shoots) -> Response:
    """Fix when a slot begins, or free it with the button for that or an empty field."""
    opened, typed = shelf.shoot(shoot), Form({**form.typed, "wish": wish})
    wish_of(opened, wish)
    if is_stale(form, opened.version):
        return render(request, shoot_page(opened, CHANGED, typed), 409)
    text = "" if form.text("free") else form.text("fixed_start")
    whole = typed.read("fixed_start", lambda _: with_fixed(opened.whole, wish, text))
    if whole is None:
        return render(request, shoot_page(opened, typed.errors["fixed_start"], typed), 422)
    shelf.save(opened, opened.version, whole=whole)
    return back_to(request, shoot, f"slot-{wish}")


@router.post("/shoots/{shoot}/aside/{wish}", name="put_aside")
def put_aside(request: Request, shoot: str, wish: str, form: Posted, shelf: Shoots) -> Response:
    """Put a wish aside, so that it is not planned for now, or back."""
    opened = shelf.shoot(shoot)
    wish_of(opened, wish)
    if is_stale(form, opened.version):
        return render(request, shoot_page(opened, CHANGED, form), 409)
    others = tuple(one for one in opened.aside if one != wish)
    shelf.save(opened, opened.version, aside=(*others, wish) if form.text("aside") == "yes" else others)
    return back_to(request, shoot)


def wish_of(opened: OpenShoot, wish: str) -> Wish:
    """Return a wish by its id; ``NotFound`` where there is none."""
    found = next((one for one in opened.whole.wishes if one.id == wish), None)
    if found is None:
        raise NotFound(f"“{opened.whole.name}” has no setup “{wish[:60]}” on its list; its page shows those it has.")
    return found


def _typed(opened: OpenShoot, wish: Wish) -> Form:
    return Form(wish_typed(opened.whole, wish, opened.telling.bring.get(wish.id, ""), wish.id in opened.aside))


def _save_wish(request: Request, shelf: ShootShelf, opened: OpenShoot, form: Form, before: Wish | None, sites: Shelf) -> Response:
    spots = spot_names(sites.sites())
    if is_stale(form, opened.version):
        return render(request, WishPage(opened, form, before, spots, CHANGED), 409)
    found = read_wish(form, opened.whole, [spot for spot, _ in spots], before)
    if found is None:
        return render(request, WishPage(opened, form, before, spots), 422)
    whole, wish_id = found
    bring = {**opened.telling.bring, wish_id: form.text("bring")}
    telling = checked(form, "bring", lambda: replace(opened.telling, bring={one: text for one, text in bring.items() if text}))
    if telling is None:
        return render(request, WishPage(opened, form, before, spots), 422)
    aside = tuple(one for one in opened.aside if one != wish_id) + ((wish_id,) if form.text("aside") else ())
    shelf.save(opened, opened.version, whole=whole, telling=telling, aside=aside)
    return back_to(request, opened.slug, f"slot-{wish_id}")

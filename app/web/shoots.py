"""What pages of a shoot fetch from: the kept shoot, its scenes and its running order, worked out once."""

import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, field, replace
from functools import cached_property, lru_cache
from typing import Annotated, Any

from fastapi import Depends, Request

from app.errors import BadInput, NotFound
from app.looks.catalogue import LOOKS
from app.looks.look import wanted_look
from app.looks.margin import Scene
from app.picture.weather import Weather
from app.place.naming import slug as plain_name
from app.shoot.order import RunningOrder, running_order
from app.shoot.plan import Plan
from app.shoot.prospect import called_in
from app.shoot.shoot import MOST_WISHES, Shoot, Wish
from app.shoot.shootfile import read_shoot, shoot_document
from app.shoot.standby import NoStandby, Standby, standbys
from app.storage.shoot_book import KeptShoot
from app.storage.store import Store
from app.web.kits import SETTING as KIT
from app.web.shelf import KeptSite, Shelf

TELLING, ASIDE = "telling", "aside"  # what a kept document holds beside the shoot itself
LONGEST_TOLD = 2000


@dataclass(frozen=True)
class Telling:
    """What people are told beside times and places, in the photographer's own words; empty where nothing was said.

    Attributes
    ----------
    wear : str
        What to wear or bring to the whole evening.
    bring : mapping of wish id to str
        What to wear or bring to one stop.
    turns : tuple of pairs
        What may turn, and what happens then.
    name, business, phone, email : str
        How to reach the photographer.
    crew : tuple of str
        Who helps.
    exact : bool
        Whether the meeting point's pin may be shown to others.
    """

    wear: str = ""
    bring: Mapping[str, str] = field(default_factory=dict)
    turns: tuple[tuple[str, str], ...] = ()
    name: str = ""
    business: str = ""
    phone: str = ""
    email: str = ""
    crew: tuple[str, ...] = ()
    exact: bool = False

    def __post_init__(self) -> None:
        texts = (self.wear, *self.bring.values(), *(text for turn in self.turns for text in turn), *self.crew)
        for text in (*texts, self.name, self.business, self.phone, self.email):
            if len(text) > LONGEST_TOLD:
                raise BadInput(f"What people are told: {LONGEST_TOLD} characters for each thing at most; {len(text)} came.", "wear")


@dataclass(frozen=True, eq=False)
class OpenShoot:
    """A kept shoot, read, with the sites and setups it wants.

    Attributes
    ----------
    whole : Shoot
        With every wish.
    aside : tuple of str
        Ids of wishes that are not to be planned for now.
    sites : mapping of address to KeptSite
        Those of its wishes that are still kept.
    gone : tuple of Wish
        Wishes whose site or setup is not there any more, or whose looks nobody knows.
    """

    kept: KeptShoot
    whole: Shoot
    telling: Telling
    aside: tuple[str, ...]
    sites: Mapping[str, KeptSite]
    gone: tuple[Wish, ...]

    @property
    def slug(self) -> str:
        """Its address."""
        return self.kept.slug

    @property
    def version(self) -> int:
        """What a save has to bring back."""
        return self.kept.version

    def why_gone(self, wish: Wish) -> str:
        """Return why a wish cannot be planned, in words."""
        return _why_gone(self.sites, wish)

    def called(self, wish: Wish) -> str:
        """Return what pages call a wish: its own name, else its setup's with the looks asked of it."""
        if wish.site in self.sites and any(one.id == wish.setup for one in self.sites[wish.site].site.setups):
            return called_in(wish, self.sites[wish.site].setup(wish.setup).name)
        return called_in(wish, wish.setup.removeprefix("setup-").replace("-", " ").capitalize())

    @cached_property
    def shoot(self) -> Shoot:
        """The shoot as it is planned: without wishes set aside or gone."""
        return without(self.whole, {*self.aside, *(wish.id for wish in self.gone)})

    @cached_property
    def scenes(self) -> dict[str, Scene]:
        """The scene of each planned wish by the wish's id, in weather nobody knows yet."""
        return self.scenes_in(Weather())

    def scenes_in(self, weather: Weather) -> dict[str, Scene]:
        """Return the scene of each planned wish in some weather, by the wish's id."""
        return {wish.id: self.scene(wish.site, wish.setup, weather) for wish in self.shoot.wishes}

    def scene(self, site: str, setup: str, weather: Weather = Weather()) -> Scene:
        """Return the scene of one setup."""
        return self.sites[site].scene(self.sites[site].setup(setup), weather)

    @cached_property
    def order(self) -> RunningOrder:
        """The best running order, or why there is none."""
        return running_order(self.shoot, self.scenes)

    @cached_property
    def candidates(self) -> dict[tuple[str, str], Scene]:
        """The scene of every setup of the sites, by site's address and setup's id: what may stand by."""
        ready = {(wish.site, wish.setup): self.scenes[wish.id] for wish in self.shoot.wishes}
        there = [(slug, setup) for slug, kept in self.sites.items() for setup in kept.setups() if not _why_gone(self.sites, Wish("any", slug, setup.id))]
        return {(slug, setup.id): ready.get((slug, setup.id)) or self.sites[slug].scene(setup) for slug, setup in there}

    @cached_property
    def standbys(self) -> tuple[Standby | NoStandby, ...]:
        """What to do when something breaks a slot's first choice; nothing without a plan."""
        order = self.order
        return standbys(self.shoot, order.light, order.plan, self.candidates) if order.plan else ()


class ShootShelf:
    """The shoots as the routes want them."""

    def __init__(self, store: Store) -> None:
        self.store = store

    def shoot(self, slug: str) -> OpenShoot:
        """Return one shoot; its scenes and running order are worked out once for each state of it and of its sites."""
        kept = self.store.shoots.read(slug)
        return _opened(self.store, slug, kept.version, kept.changed_utc_s, self._state_of_sites())

    def shoots(self) -> tuple[OpenShoot, ...]:
        """Return all shoots, the latest date first."""
        found = [self.shoot(kept.slug) for kept in self.store.shoots.all()]
        return tuple(sorted(found, key=lambda one: one.whole.day, reverse=True))

    def save(self, opened: OpenShoot, version: int, **changed: Any) -> int:
        """Keep a shoot with some of ``whole``, ``telling`` and ``aside`` changed; ``Conflict`` when the version is old."""
        return self.store.shoots.replace(opened.slug, document_of(replace(opened, **changed)), version)

    def _state_of_sites(self) -> tuple[Any, ...]:
        """Return what changes whenever a site, its setups, its terrain or the kit does."""
        sites = self.store.sites()
        terrains = (self.store.terrain(site.slug) for site in sites)
        states = ((site.slug, site.version, site.updated_utc, terrain and terrain.loaded_utc) for site, terrain in zip(sites, terrains, strict=True))
        return (json.dumps(self.store.setting(KIT), sort_keys=True), *states)


def document_of(opened: OpenShoot) -> dict[str, Any]:
    """Return what is kept of a shoot."""
    return shoot_document(opened.whole) | {TELLING: asdict(opened.telling), ASIDE: list(opened.aside)}


def new_document(shoot: Shoot, telling: Telling = Telling()) -> dict[str, Any]:
    """Return what is kept of a shoot that is not kept yet."""
    return shoot_document(shoot) | {TELLING: asdict(telling), ASIDE: []}


def read_document(document: Mapping[str, Any]) -> tuple[Shoot, Telling, tuple[str, ...]]:
    """Return the shoot of a kept document, what people are told, and which wishes are set aside."""
    bare = {name: value for name, value in document.items() if name not in (TELLING, ASIDE)}
    told = dict(document.get(TELLING, {}))
    pairs = {"turns": tuple((str(one), str(other)) for one, other in told.get("turns", ())), "crew": tuple(told.get("crew", ()))}
    return read_shoot(bare), Telling(**told | pairs), tuple(document.get(ASIDE, ()))


def without(shoot: Shoot, ids: Iterable[str]) -> Shoot:
    """Return a shoot without some wishes, and without what others said of coming after them."""
    out = set(ids)
    left = (wish for wish in shoot.wishes if wish.id not in out)
    return replace(shoot, wishes=tuple(replace(wish, after=tuple(one for one in wish.after if one not in out)) for wish in left))


def holding(opened: OpenShoot, plan: Plan, dropped: Iterable[str] = ()) -> OpenShoot:
    """Return the shoot with every slot of a plan fixed where it is, and some wishes set aside."""
    starts = {slot.wish_id: slot.starts_utc_s for slot in plan.slots}
    fixed = tuple(replace(wish, fixed_start_utc_s=starts[wish.id]) if wish.id in starts else wish for wish in opened.whole.wishes)
    aside = tuple(dict.fromkeys([*(one for one in opened.aside if one not in starts), *dropped]))
    return replace(opened, whole=replace(opened.whole, wishes=fixed), aside=aside)


def free_id(shoot: Shoot, setup: str) -> str:
    """Return an id for a new wish of a setup: the setup's own in plain letters, with a number behind it where that is taken."""
    taken, plain = {"new", *(wish.id for wish in shoot.wishes)}, plain_name(setup.removeprefix("setup-")) or "wish"
    numbered = (f"{plain}-{number}" for number in range(2, MOST_WISHES + 4))
    return next(one for one in (plain, *numbered) if one not in taken)


@lru_cache(maxsize=32)
def _opened(store: Store, slug: str, version: int, changed_utc_s: float, sites_state: tuple[Any, ...]) -> OpenShoot:
    """Versions start again when a deleted shoot's address is taken by a new one; times do not."""
    kept = store.shoots.read(slug)
    whole, telling, aside = read_document(kept.document)
    sites = _sites_of(Shelf(store), whole)
    gone = tuple(wish for wish in whole.wishes if _why_gone(sites, wish))
    return OpenShoot(kept, whole, telling, tuple(one for one in aside if one in {wish.id for wish in whole.wishes}), sites, gone)


def _sites_of(shelf: Shelf, shoot: Shoot) -> dict[str, KeptSite]:
    found = {}
    for slug in dict.fromkeys(wish.site for wish in shoot.wishes):
        try:
            found[slug] = shelf.site(slug)
        except NotFound:
            continue  # a deleted site is told of wish by wish
    return found


def _why_gone(sites: Mapping[str, KeptSite], wish: Wish) -> str:
    """Return why a wish cannot be planned, nothing where it can."""
    if wish.site not in sites:
        return "its site is not kept here any more"
    if not any(feature.id == wish.setup for feature in sites[wish.site].site.setups):
        return "its setup is not on its site any more"
    try:
        for look in (*sites[wish.site].setup(wish.setup).looks, *wish.looks):
            wanted_look(LOOKS, look)
    except BadInput as error:
        return f"its looks cannot be read ({str(error).rstrip('.')})"
    return ""


def _shelf(request: Request) -> ShootShelf:
    return ShootShelf(request.app.state.store)


Shoots = Annotated[ShootShelf, Depends(_shelf)]

"""The morning check of a kept shoot: from what is kept of its weather, what was said before, and the order solved again."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from typing import Annotated, Any

import numpy as np
from fastapi import Depends, Request

from app.errors import BadInput, Conflict, NotFound
from app.light.turbidity import turbidity_at
from app.looks.light_plan import light_plan
from app.outside.turbidity import monthly_turbidity
from app.shoot.morning import MorningCheck, morning_check
from app.shoot.morning_again import Revised, revised
from app.shoot.morning_light import SlotPlan
from app.shoot.morning_record import changed_since, record_of
from app.shoot.morning_sun import EVENING, MORNING
from app.shoot.prospect import Prospect
from app.shoot.shoot import Wish
from app.storage.store import Store
from app.web.mornings_weather import SiteDay, WeatherDesk
from app.web.shelf import KeptSite
from app.web.shoots import OpenShoot, ShootShelf, holding
from app.web.weather_services import WeatherServices

NO_ORDER = "There is no running order to check: what must be cannot all be had, or there are too many setups. Mend the shoot first."


@dataclass(frozen=True, eq=False)
class Morning:
    """A shoot on its day.

    Attributes
    ----------
    opened : OpenShoot
    part : str
        “evening” or “morning”, whichever holds most of its slots.
    days : mapping of site's address to SiteDay
    now_utc_s : float
        [s since 1970 UTC]
    """

    opened: OpenShoot
    part: str
    days: Mapping[str, SiteDay]
    now_utc_s: float

    @property
    def weather_known(self) -> bool:
        """Whether anything is known of the weather at any of its sites."""
        return any(day.weather.known for day in self.days.values())

    @cached_property
    def check(self) -> MorningCheck | None:
        """The check; None where there is no running order."""
        order = self.opened.order
        if order.plan is None:
            return None
        lights = {one.wish.id: slot_plan(self.opened, one) for one in order.light}
        suns = {slug: day.sun for slug, day in self.days.items() if day.sun}
        weather = {slug: day.weather for slug, day in self.days.items()}
        return morning_check(
            self.opened.shoot, order.plan, order.light, self.opened.standbys, self.opened.candidates, weather, lights, suns, self.now_utc_s
        )

    @cached_property
    def record(self) -> dict[str, Any] | None:
        """The check in short."""
        return record_of(self.check) if self.check else None

    @cached_property
    def revised(self) -> Revised | None:
        """The order solved again for this weather; None where there is none."""
        order = self.opened.order
        if self.check is None or order.plan is None:
            return None
        weather = {slug: day.weather for slug, day in self.days.items()}
        return revised(self.opened.shoot, order.plan, order.light, self.check, self.opened.candidates, weather)


@dataclass(frozen=True)
class Since:
    """What changed since a check before, and when that was; None where there was none. [s since 1970 UTC]"""

    checked_utc_s: float | None
    changes: tuple[str, ...]


class MorningDesk:
    """Morning checks for pages, the command line and the timer."""

    def __init__(self, store: Store, services: WeatherServices) -> None:
        self.store, self.services = store, services
        self.weather, self.shoots = WeatherDesk(store, services), ShootShelf(store)

    def morning(self, slug: str, now_utc_s: float) -> Morning:
        """Return a shoot on its day, from what is kept; nobody is asked."""
        opened = self.shoots.shoot(slug)
        part = part_of(opened)
        days = {site: self.weather.day(kept, opened.shoot.day, part, now_utc_s) for site, kept in opened.sites.items()}
        return Morning(opened, part, days, now_utc_s)

    def since(self, slug: str, morning: Morning) -> Since:
        """Return what changed since the last check that said something else, or since the last one."""
        kept = [one for one in self.store.weather.checks(slug, 20)]
        if not kept or morning.record is None:
            return Since(None, ())
        zone = morning.opened.shoot.zone
        for one in kept:
            if found := changed_since(one, morning.record, zone):
                return Since(one["checked_utc_s"], found)
        return Since(kept[0]["checked_utc_s"], ())

    def keep_check(self, slug: str, now_utc_s: float) -> Morning:
        """Keep what the check says now, for the next one to be compared with; return it."""
        morning = self.morning(slug, now_utc_s)
        if morning.record:
            self.store.weather.add_check(slug, morning.record, now_utc_s)
        return morning

    def ask(self, slug: str, now_utc_s: float, chance: float) -> str:
        """Ask for the weather of each of a shoot's sites and keep it and the check; return what happened, in words."""
        opened = self.shoots.shoot(slug)
        if not opened.sites:
            raise BadInput("This shoot has no site yet whose weather could be asked for; add a setup first.")
        self._keep_first(slug, now_utc_s)
        part, several = part_of(opened), len(opened.sites) > 1
        told = [
            (f"{kept.site.name}: " if several else "") + self.weather.ask(kept, opened.shoot.day, part, now_utc_s, chance)
            for kept in opened.sites.values()
        ]
        self.keep_check(slug, now_utc_s + 1e-3)
        return " ".join(told)

    def shoots_at(self, site: str, day: date) -> tuple[OpenShoot, ...]:
        """Return the shoots of a day that have a setup at a site."""
        return tuple(one for one in self.shoots.shoots() if one.whole.day == day and site in one.sites)

    def keep_seen(self, site: str, day: date, seen: dict[str, Any] | None, now_utc_s: float) -> None:
        """Keep what was seen of a day at a site, None to forget it, between two checks of each shoot that is there then."""
        shoots = self.shoots_at(site, day)
        for one in shoots:
            self._keep_first(one.slug, now_utc_s - 1e-3)
        self.store.weather.keep_seen(site, day, seen)
        for one in shoots:
            self.keep_check(one.slug, now_utc_s)

    def save_revised(self, slug: str, version: int, shown: str, now_utc_s: float) -> None:
        """Keep the order solved again, if it is the one that was shown; ``Conflict`` where weather or shoot moved on."""
        morning = self.morning(slug, now_utc_s)
        new = morning.revised
        if new is None:
            raise BadInput(NO_ORDER)
        if signature(new) != shown:
            raise Conflict("The weather that is kept changed since this order was shown. Nothing was saved; look at the new one first.")
        wishes = tuple(_moved(wish, new.shoot.wish(wish.id)) if wish.id in new.swapped else wish for wish in morning.opened.whole.wishes)
        whole = replace(morning.opened.whole, wishes=wishes)
        held = holding(replace(morning.opened, whole=whole), new.changed.plan, new.changed.plan.left_out)
        self.shoots.save(morning.opened, version, whole=held.whole, aside=held.aside)

    def weather_site(self, opened: OpenShoot, site: str) -> KeptSite:
        """Return one of a shoot's sites; ``NotFound`` for any other."""
        if site not in opened.sites:
            raise NotFound(f"“{opened.whole.name}” has no setup at a site “{site[:60]}”.")
        return opened.sites[site]

    def _keep_first(self, slug: str, now_utc_s: float) -> None:
        """Keep the check as it stood before the first question, so that its answer has something to be compared with."""
        if not self.store.weather.checks(slug, 1):
            self.keep_check(slug, now_utc_s)


def _moved(wish: Wish, stood_in: Wish) -> Wish:
    """Return a kept wish at the place and for the looks of its standby, all its other terms as they were."""
    return replace(wish, site=stood_in.site, setup=stood_in.setup, name=stood_in.name, looks=stood_in.looks, standby=stood_in.standby)


def part_of(opened: OpenShoot) -> str:
    """Return which low sun a shoot is about: the morning's where most of its slots, or its free time, lie before local noon."""
    plan, shoot = opened.order.plan, opened.shoot
    moments = [slot.starts_utc_s for slot in plan.slots] if plan and plan.slots else [shoot.open_time[-1].ends_utc_s]
    sites = tuple(opened.sites.values())
    noon_s = 43_200.0 - (sites[0].site.centre.lon_deg * 240.0 if sites else 0.0)
    return MORNING if (float(np.median(moments)) - noon_s) % 86_400.0 >= 43_200.0 else EVENING


def slot_plan(opened: OpenShoot, one: Prospect) -> SlotPlan:
    """Return a wish's lights with the owner's kit, or why they cannot be used."""
    pin = one.scene.setup.camera_pin
    linke = float(turbidity_at(monthly_turbidity(pin.lat_deg, pin.lon_deg), one.starts_utc_s))
    try:
        return SlotPlan(light_plan(one.scene.setup, opened.sites[one.wish.site].kit), linke)
    except (BadInput, ValueError) as error:
        return SlotPlan(None, linke, str(error))


def signature(new: Revised) -> str:
    """Return a text that is the same only for the same proposal."""
    slots = (f"{slot.wish_id}@{round(slot.starts_utc_s)}:{new.shoot.wish(slot.wish_id).setup}" for slot in new.changed.plan.slots)
    return ",".join(slots)


def desk_of(request: Request) -> MorningDesk:
    """Return the desk of the running program."""
    state = request.app.state
    return MorningDesk(state.store, getattr(state, "weather_services", WeatherServices()))


Mornings = Annotated[MorningDesk, Depends(desk_of)]

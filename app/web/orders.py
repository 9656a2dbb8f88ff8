"""A running order as its page tells it: one line for each slot, with all that belongs to it."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from app.looks.window import Window
from app.place.timezone import local_time
from app.shoot.explain import LeftOut
from app.shoot.plan import Slot
from app.shoot.shoot import Wish
from app.shoot.standby import NoStandby, Standby, answers
from app.shoot.walking import Leg
from app.shoot.words import clock, clock_at, span, windows_said
from app.web.drawing.order import OrderDrawing, draw_order
from app.web.forms import Form
from app.web.shoots import OpenShoot
from app.web.words import caution_for


@dataclass(frozen=True)
class SlotLine:
    """One slot in words.

    Attributes
    ----------
    span : str
        From when to when, “18:31–18:49”, with the site's own clock where that differs.
    looks : tuple of three texts
        The windows that it lies in: look, “17:53–18:51”, and why it closes.
    percent : int
        How much of the light that it could have it gets. [%]
    slack, why : str
        How far it may slip; why it comes before the next.
    start : str
        Its beginning as the form takes it.
    """

    number: int
    slot: Slot
    wish: Wish
    called: str
    site: str
    span: str
    leg: Leg
    prepares: str
    looks: tuple[tuple[str, str, str], ...]
    percent: int
    slack: str
    why: str
    standbys: tuple[Standby | NoStandby, ...]
    day: date
    start: str

    @property
    def answers(self) -> tuple[str, ...]:
        """What to do in each trouble, in words."""
        return answers(self.standbys)


@dataclass(frozen=True)
class Unplanned:
    """A wish without a slot: what it is called, why it has none, and when it would have light."""

    wish: Wish
    called: str
    words: str
    windows: str


@dataclass(frozen=True)
class ShootPage:
    """All that shoot.html may use; ``form`` is what was typed where it could not be used, ``trouble`` why."""

    template: ClassVar[str] = "shoot.html"
    opened: OpenShoot
    lines: tuple[SlotLine, ...]
    unplanned: tuple[Unplanned, ...]
    drawings: tuple[OrderDrawing, ...]
    trouble: str = ""
    form: Form | None = None

    @property
    def zone(self) -> str:
        """Whose clock everybody reads."""
        return self.opened.shoot.zone

    @property
    def free(self) -> tuple[str, ...]:
        """When the people are there, in words; nothing where nobody said."""
        shoot = self.opened.shoot
        return tuple(span(shoot, one.starts_utc_s, one.ends_utc_s) for one in shoot.free)

    @property
    def light_min(self) -> int:
        """How long all slots last together. [min]"""
        return sum(line.slot.minutes for line in self.lines)

    @property
    def caution(self) -> str | None:
        """What to mind where a planned look has the sun in the picture."""
        return caution_for(tuple(look for line in self.lines for look in self.opened.order.prospect(line.wish.id).looks))

    @property
    def any_fixed(self) -> bool:
        """Whether a hand has fixed a beginning."""
        return any(wish.fixed_start_utc_s is not None for wish in self.opened.whole.wishes)

    @property
    def any_preparing(self) -> bool:
        """Whether clothes are changed or lights set up before a slot, as the drawing shows it."""
        return any(ring.ready_x is not None for drawn in self.drawings for ring in drawn.rings)

    @property
    def parts(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """How an evening that is too full may be split: each part's times and the names of its setups."""
        opened = self.opened
        return tuple(
            (span(opened.shoot, part.starts_utc_s, part.ends_utc_s), tuple(_called(opened, one) for one in part.ids))
            for part in opened.order.parts
        )

    def typed_start(self, line: SlotLine) -> str:
        """Return what a slot's field of time holds: what was typed last where that could not be used."""
        mine = self.form is not None and self.form.text("wish") == line.wish.id
        return self.form.text("fixed_start") if mine else line.start

    def wrong_start(self, line: SlotLine) -> str:
        """Return why what was typed into a slot's field of time could not be used."""
        mine = self.form is not None and self.form.text("wish") == line.wish.id
        return (self.form.error("fixed_start") or "") if mine else ""


def shoot_page(opened: OpenShoot, trouble: str = "", form: Form | None = None) -> ShootPage:
    """Return the page of a shoot."""
    drawings = tuple(drawn for kind in ("desk", "hand") if (drawn := draw_order(opened, kind)))
    return ShootPage(opened, tuple(slot_lines(opened)), tuple(_unplanned(opened)), drawings, trouble, form)


def slot_lines(opened: OpenShoot) -> Iterator[SlotLine]:
    """Yield the slots of the plan in words, in time order; none where there is no plan."""
    order = opened.order
    if order.plan is None or order.reasons is None:
        return
    why = {swap.first_id: swap.words for swap in order.reasons.swaps}
    for number, slot in enumerate(order.plan.slots, 1):
        one = order.prospect(slot.wish_id)
        kept = opened.sites[one.wish.site]
        there = clock_at(opened.shoot, one, slot.ends_utc_s).removeprefix(clock(opened.shoot, slot.ends_utc_s))
        yield SlotLine(
            number=number,
            slot=slot,
            wish=one.wish,
            called=one.called,
            site=kept.site.name,
            span=span(opened.shoot, slot.starts_utc_s, slot.ends_utc_s) + there,
            leg=order.legs[number - 1],
            prepares=_prepares(one.wish),
            looks=tuple((name, _span(opened, window), window.closes_because) for name, window in one.windows if _meets(window, slot)),
            percent=round(100 * slot.value),
            slack=order.reasons.slack_words[number - 1],
            why=why.get(slot.wish_id, ""),
            standbys=tuple(standby for standby in opened.standbys if standby.wish_id == slot.wish_id),
            day=local_time(slot.starts_utc_s, kept.site.time_zone).date(),
            start=clock(opened.shoot, slot.starts_utc_s),
        )


def _meets(window: Window, slot: Slot) -> bool:
    return window.opens_utc_s < slot.ends_utc_s and window.closes_utc_s > slot.starts_utc_s


def _span(opened: OpenShoot, window: Window) -> str:
    return span(opened.shoot, window.opens_utc_s, window.closes_utc_s)


def _prepares(wish: Wish) -> str:
    told = [(wish.change_before_min, "changing clothes"), (wish.lights_min, "setting up lights")]
    return ", ".join(f"{minutes} min {what}" for minutes, what in told if minutes)


def _unplanned(opened: OpenShoot) -> Iterator[Unplanned]:
    """Yield what was left out and what it would cost; where there is no plan, every wish with its windows."""
    order = opened.order
    left: dict[str, LeftOut] = {one.wish_id: one for one in order.reasons.left_out} if order.reasons else {}
    planned = order.plan.order if order.plan else ()
    for one in order.light:
        if one.wish.id not in planned:
            words = left[one.wish.id].words if one.wish.id in left else ""
            windows = windows_said(opened.shoot, one) if one.looks else "any light will do"
            yield Unplanned(one.wish, one.called, words, windows)


def _called(opened: OpenShoot, wish_id: str) -> str:
    return opened.order.prospect(wish_id).called

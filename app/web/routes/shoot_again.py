"""Solving again from now: what is left of an evening, with the least change to what people know."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter, Request, Response

from app.errors import BadInput
from app.shoot.plan import Plan
from app.shoot.words import clock
from app.web.conflicts import Posted, is_stale
from app.web.forms import Form, query_form
from app.web.now import Now
from app.web.render import render
from app.web.routes.shoots import CHANGED, back_to
from app.web.shoots import OpenShoot, Shoots
from app.web.solve_again import DONE, LEFT, SKIPPED, Proposal, accepted, propose
from app.web.typed_shoot import read_instant

router = APIRouter()
STATES = ((LEFT, "still to come"), (DONE, "done"), (SKIPPED, "skipped"))


@dataclass(frozen=True)
class AgainPage:
    """All that shoot_again.html may use; ``proposal`` is None while nothing can be solved, which ``form`` says."""

    template: ClassVar[str] = "shoot_again.html"
    opened: OpenShoot
    form: Form
    slots: tuple[tuple[str, str, str], ...]
    proposal: Proposal | None
    changed: str = ""
    states: tuple[tuple[str, str], ...] = STATES


@router.get("/shoots/{shoot}/again", name="shoot_again")
def show_again(request: Request, shoot: str, shelf: Shoots, now: Now) -> Response:
    """Old against new: what is left of the evening from an instant on."""
    opened, form = shelf.shoot(shoot), query_form(request)
    form = form if "at" in form.typed else _usual(opened, now)
    page = _page(opened, form)
    return render(request, page, 422 if form.errors else 200)


@router.post("/shoots/{shoot}/again")
def keep_again(request: Request, shoot: str, form: Posted, shelf: Shoots) -> Response:
    """Keep the new times: they are fixed, and what dropped out is put aside."""
    opened = shelf.shoot(shoot)
    if is_stale(form, opened.version):
        return render(request, _page(opened, form, CHANGED), 409)
    page = _page(opened, form)
    if page.proposal is None or page.proposal.changed is None:
        return render(request, page, 422)
    new = accepted(opened, page.proposal, _of(form, opened.order.plan, DONE))
    shelf.save(opened, opened.version, whole=new.whole, aside=new.aside)
    return back_to(request, shoot)


def _page(opened: OpenShoot, form: Form, changed: str = "") -> AgainPage:
    plan = opened.order.plan
    slots = tuple((slot.wish_id, opened.order.prospect(slot.wish_id).called, clock(opened.shoot, slot.starts_utc_s)) for slot in plan.slots) if plan else ()
    at = form.read("at", lambda text: read_instant(opened.shoot.zone, opened.shoot.day, text))
    if plan is None:
        form.errors["at"] = "There is no order yet to solve again; the shoot's page says why."
    proposal = _proposed(opened, plan, form, at) if plan and at is not None else None
    return AgainPage(opened, form, slots, proposal, changed)


def _proposed(opened: OpenShoot, plan: Plan, form: Form, at_utc_s: float) -> Proposal | None:
    try:
        return propose(opened, plan, at_utc_s, _of(form, plan, DONE), _of(form, plan, SKIPPED))
    except BadInput as error:
        form.blame(error, "at")
        return None


def _of(form: Form, plan: Plan | None, state: str) -> tuple[str, ...]:
    """Return the wishes of a plan that were said to be done, or skipped, in the plan's order."""
    return tuple(slot.wish_id for slot in plan.slots if form.text(f"state-{slot.wish_id}") == state) if plan else ()


def _usual(opened: OpenShoot, now: float) -> Form:
    """Return the form as it stands at first: from now, where that is in the people's time, with what should be done by now."""
    open_time, plan = opened.shoot.open_time, opened.order.plan
    during = open_time[0].starts_utc_s <= now < open_time[-1].ends_utc_s
    at = now if during else open_time[0].starts_utc_s
    states = {f"state-{slot.wish_id}": DONE if slot.ends_utc_s <= at else LEFT for slot in plan.slots} if plan else {}
    return Form({"at": clock(opened.shoot, at), **states})

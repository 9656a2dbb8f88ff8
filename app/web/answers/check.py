"""The morning check of a shoot: every slot's verdict with the margin that decides it."""

from collections.abc import Iterator
from datetime import datetime
from typing import TYPE_CHECKING, Any

from app.shoot.morning import SlotCheck
from app.web.answers.times import iso_local, iso_utc

if TYPE_CHECKING:  # they bring the web along, which lines do without
    from app.web.mornings import Morning, Since

Answer = dict[str, Any]
NO_ORDER = "There is no running order to check."


def check_answer(morning: "Morning", since: "Since") -> Answer:
    """Return the check with its weather, whose it is, and what changed since the last one."""
    shoot, check, zone = morning.opened.shoot, morning.check, morning.opened.shoot.zone
    return {
        "shoot": morning.opened.slug,
        "name": shoot.name,
        "date": shoot.day.isoformat(),
        "time_zone": zone,
        "checked_utc": iso_utc(morning.now_utc_s),
        "headline": check.headline if check else NO_ORDER,
        "slots": [_slot(one, zone) for one in check.slots] if check else [],
        "suns": [
            {"site": slug, "name": sun.name, "time_local": iso_local(sun.utc_s, zone), "azimuth_deg": round(sun.azimuth_deg, 2), "words": sun.words}
            for slug, sun in check.suns.items()
        ] if check else [],
        "bring": list(check.bring) if check else [],
        "tell": list(check.tell) if check else [],
        "sources": [{"site": slug, "words": words} for slug, day in morning.days.items() for words in (*day.sources, *day.faults)],
        "since_utc": None if since.checked_utc_s is None else iso_utc(since.checked_utc_s),
        "changes": list(since.changes),
    }  # fmt: skip


def check_lines(answer: Answer) -> Iterator[str]:
    """Yield the check as lines: headline, slots, what to bring, whose weather, what changed."""
    yield f"{answer['name']}, {answer['date']}, by the clocks of {answer['time_zone']}"
    yield answer["headline"]
    for slot in answer["slots"]:
        first, last = (datetime.fromisoformat(slot[name]).strftime("%H:%M") for name in ("starts_local", "ends_local"))
        look = f", {slot['look']}" if slot["look"] else ""
        yield f"{first}–{last}  {slot['called']}{look}: {slot['verdict'].upper()}"
        yield f"             {slot['reason']}"
        yield from (f"             {words}" for words in slot["changes"])
        if slot["set"]:
            yield f"             Set {slot['set']}"
    for sun in answer["suns"]:
        yield f"{sun['name'].capitalize()} {datetime.fromisoformat(sun['time_local']):%H:%M} ({sun['site']}): {sun['words']}"
    yield from (f"Bring: {words}" for words in answer["bring"])
    yield from answer["tell"]
    yield from (f"{one['site']}: {one['words']}" for one in answer["sources"])
    if not answer["sources"]:
        yield "No weather is known. The sun needs none; ask for a forecast on the page, or type in what you see."
    yield from (f"Since {answer['since_utc']}: {words}" for words in answer["changes"])


def _slot(one: SlotCheck, zone: str) -> Answer:
    return {
        "wish": one.wish_id,
        "called": one.called,
        "spot": one.spot,
        "look": one.look,
        "starts_local": iso_local(one.starts_utc_s, zone),
        "ends_local": iso_local(one.ends_utc_s, zone),
        "verdict": one.verdict,
        "reason": one.reason,
        "margins": [
            {"name": margin.name, "value": round(margin.value, 3), "told": margin.told, "time_local": iso_local(margin.utc_s, zone)}
            for margin in one.margins
        ],
        "changes": list(one.changes),
        "weather": one.weather,
        "window": one.window,
        "set": one.light.words if one.light else None,
        "light": one.light.cloud if one.light else one.light_trouble or None,
        "standby": one.standby.spot if one.standby else None,
    }  # fmt: skip

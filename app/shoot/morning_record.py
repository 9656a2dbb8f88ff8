"""A morning check in short, as plain JSON values to be kept, and what changed from one to the next."""

from collections.abc import Iterator, Mapping
from typing import Any

from app.place.timezone import local_time
from app.shoot.morning import MorningCheck

Record = dict[str, Any]
MOVED_S = 20.0  # a sunset that moved by less is the same


def record_of(check: MorningCheck) -> Record:
    """Return what is kept of a check."""
    slots = [
        {
            "wish": one.wish_id, "called": one.called, "starts_utc_s": one.starts_utc_s, "ends_utc_s": one.ends_utc_s,
            "verdict": one.verdict, "reason": one.reason, "weather": one.weather,
        }
        for one in check.slots
    ]  # fmt: skip
    suns = {site: {"name": one.name, "utc_s": one.utc_s} for site, one in check.suns.items()}
    return {"checked_utc_s": check.checked_utc_s, "headline": check.headline, "slots": slots, "suns": suns}


def changed_since(before: Mapping[str, Any], now: Mapping[str, Any], zone: str) -> tuple[str, ...]:
    """Return in sentences what two records say differently, slot by slot; nothing where they agree. Times by a zone's clocks."""
    old = {one["wish"]: one for one in before["slots"]}
    new = {one["wish"]: one for one in now["slots"]}
    gone = (f"“{one['called']}” has no slot any more." for wish, one in old.items() if wish not in new)
    told = (words for wish, one in new.items() for words in _slot_changes(old.get(wish), one, zone))
    return (*told, *gone, *_sun_changes(before["suns"], now["suns"]))


def _slot_changes(before: Mapping[str, Any] | None, now: Mapping[str, Any], zone: str) -> Iterator[str]:
    name = f"“{now['called']}”"
    if before is None:
        yield f"{name} is new in the order: {now['verdict']}."
        return
    if before["verdict"] != now["verdict"]:
        yield f"{name}: “{before['verdict']}” has become “{now['verdict']}”. {now['reason']}"
    elif before["reason"] != now["reason"]:
        yield f"{name} is as it was, but what decides it changed: {now['reason']} Before: {before['reason']}"
    if before["starts_utc_s"] != now["starts_utc_s"]:
        first, then = (f"{local_time(one['starts_utc_s'], zone):%H:%M}" for one in (before, now))
        yield f"{name} begins at {then}, no longer at {first}."


def _sun_changes(before: Mapping[str, Any], now: Mapping[str, Any]) -> Iterator[str]:
    for site, sun in now.items():
        moved_s = sun["utc_s"] - before[site]["utc_s"] if site in before else 0.0
        if abs(moved_s) >= MOVED_S:
            yield f"The {sun['name']} moved by {moved_s:+.0f} s with the air of the day."

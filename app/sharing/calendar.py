"""The sheet as a calendar, to keep once or to follow (RFC 5545).

Instants are written in UTC, so that no program has to agree with ours about a time
zone; the local time stands in the description, in words. An entry's UID never changes
and its SEQUENCE is the sheet's revision: a changed plan updates the entry. What was
called off stays, marked as cancelled.
"""

from datetime import UTC, datetime, timedelta
from uuid import UUID, uuid5

from icalendar import Calendar, Event

from app.sharing.languages import Tongue
from app.sharing.sheet import CoupleSheet, Stop

PRODUCT = "-//Westering//Sheets//EN"
REFRESH = timedelta(hours=1)  # a wish: some programs ask only once a day
OURS = UUID("6f0a2c1e-9c55-5d07-8a7e-3f1d5b0e94c2")  # drawn once; what makes an entry's UID ours


def calendar_file(sheet: CoupleSheet, tongue: Tongue, link: str = "") -> bytes:
    """Return the sheet as a calendar file to keep.

    Parameters
    ----------
    sheet : CoupleSheet
        Whose stops become entries, those that were dropped as cancelled ones.
    tongue : Tongue
        The language of names and descriptions.
    link : str, optional
        The whole address of the sheet's page.

    Returns
    -------
    bytes
        UTF-8, lines ended by CRLF and folded at 75 octets.
    """
    return _calendar(sheet, tongue, link).to_ical()


def calendar_feed(sheet: CoupleSheet, tongue: Tongue, link: str = "") -> bytes:
    """Return the sheet as a calendar to follow: the same entries, with the wish to be asked for hourly."""
    calendar = _calendar(sheet, tongue, link)
    calendar.add("refresh-interval", REFRESH, parameters={"VALUE": "DURATION"})
    calendar.add("x-published-ttl", "PT1H")
    return calendar.to_ical()


def uid(sheet: CoupleSheet, stop_id: str) -> str:
    """Return the UID of a stop: the same in every revision.

    It tells neither shoot nor machine (RFC 7986, 5.3).
    """
    return str(uuid5(OURS, f"{sheet.id}/{stop_id}"))


def _calendar(sheet: CoupleSheet, tongue: Tongue, link: str) -> Calendar:
    calendar, name = Calendar(), tongue.say("Photographs at {place}", place=sheet.place)
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("name", name)
    calendar.add("x-wr-calname", name)  # what came before NAME, and what most programs read
    for stop in sheet.stops:
        calendar.add_component(_event(sheet, stop, tongue, link, "CONFIRMED"))
    for stop in sheet.dropped:
        calendar.add_component(_event(sheet, stop, tongue, link, "CANCELLED"))
    if not calendar.subcomponents:
        calendar.add_component(_whole_day(sheet, tongue, name, link))
    return calendar


def _whole_day(sheet: CoupleSheet, tongue: Tongue, name: str, link: str) -> Event:
    # A calendar without a component is no calendar (RFC 5545, 3.6), and the day is known.
    event = _stamped(sheet, "", link)
    event.add("dtstart", sheet.day)
    event.add("dtend", sheet.day + timedelta(days=1))
    event.add("summary", name)
    event.add("description", tongue.say("Nothing is settled yet. The stops will stand here."))
    return event


def _event(sheet: CoupleSheet, stop: Stop, tongue: Tongue, link: str, status: str) -> Event:
    event = _stamped(sheet, stop.id, link)
    event.add("dtstart", _utc(stop.starts_utc_s))
    event.add("dtend", _utc(stop.ends_utc_s))
    event.add("status", status)
    event.add("transp", "OPAQUE" if status == "CONFIRMED" else "TRANSPARENT")
    event.add("summary", _summary(stop, tongue, status))
    event.add("description", "\n".join(_description(sheet, stop, tongue, link)))
    _add_place(event, sheet, stop)
    return event


def _stamped(sheet: CoupleSheet, stop_id: str, link: str) -> Event:
    event, written = Event(), _utc(sheet.revision.written_utc_s)
    event.add("uid", uid(sheet, stop_id))
    event.add("sequence", sheet.revision.number)
    event.add("dtstamp", written)
    event.add("last-modified", written)
    if link:
        event.add("url", link)
    return event


def _summary(stop: Stop, tongue: Tongue, status: str) -> str:
    if status == "CANCELLED":
        return tongue.say("Called off: {title}", title=stop.title)
    return tongue.say("Photographs: {title}", title=stop.title)


def _description(sheet: CoupleSheet, stop: Stop, tongue: Tongue, link: str) -> list[str]:
    zone = sheet.zone_of(stop)
    span = tongue.span(stop.starts_utc_s, stop.ends_utc_s, zone, sheet.day)
    lines = [f"{span} ({tongue.zone(stop.starts_utc_s, zone)})"]
    if sheet.ready_utc_s is not None and sheet.stops and stop.id == sheet.stops[0].id:
        ready = tongue.clock_on(sheet.ready_utc_s, sheet.zone, sheet.day)
        lines.append(tongue.say("Be ready at {time}.", time=ready))
        lines += _labelled(tongue.say("Where to meet"), sheet.meeting.words)
    lines += [stop.about] if stop.about else []
    lines += _labelled(tongue.say("Wear or bring"), stop.bring)
    lines += _labelled(tongue.say("Instead, if need be"), stop.standby)
    if link:
        lines.append(
            tongue.say("A calendar can be a day late. On the day, the sheet counts: {link}", link=link)
        )
    return lines


def _labelled(label: str, text: str) -> list[str]:
    return [f"{label}: {text}"] if text else []


def _add_place(event: Event, sheet: CoupleSheet, stop: Stop) -> None:
    # A sheet's place may name several sites; a stop that is at one of them names that one alone.
    at_one = stop.where and f", {stop.where}," in f", {sheet.place},"
    parts = (stop.title, stop.where) if at_one else (stop.where or stop.title, sheet.place)
    event.add("location", ", ".join(filter(None, parts)))
    if stop.point:
        event.add("geo", (round(stop.point.lat_deg, 6), round(stop.point.lon_deg, 6)))


def _utc(utc_s: float) -> datetime:
    return datetime.fromtimestamp(round(utc_s), UTC)

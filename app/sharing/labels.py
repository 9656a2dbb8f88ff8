"""The fixed words of a sheet and of the page that shows it, in one language."""

from dataclasses import dataclass

from app.sharing.languages import Tongue


@dataclass(frozen=True)
class Labels:
    """Headings, buttons and standing sentences, each ready to show."""

    be_ready: str
    where_to_meet: str
    done_by: str
    the_plan: str
    bring: str
    standby: str
    turns: str
    since: str
    keep_and_reach: str
    add_to_calendar: str
    follow_calendar: str
    calendar_lags: str
    call: str
    write: str
    find: str
    paper_a4: str
    paper_letter: str
    scan: str
    not_at_the_sun: str
    only_drawings: str
    no_stops: str
    crew_sheet: str
    crew: str
    settings: str
    lights: str
    positions: str
    take_care: str
    unprintable: str
    chosen: str


@dataclass(frozen=True)
class ShutLabels:
    """What the page says when a link opens nothing."""

    title: str
    ask: str
    busy: str
    wait: str


def labels(tongue: Tongue, name: str = "") -> Labels:
    """Return the fixed words in a language; ``name`` is whom one calls and writes to."""
    return Labels(
        be_ready=tongue.say("Be ready"),
        where_to_meet=tongue.say("Where to meet"),
        done_by=tongue.say("Done by about"),
        the_plan=tongue.say("The plan"),
        bring=tongue.say("Wear or bring"),
        standby=tongue.say("Instead, if need be"),
        turns=tongue.say("If the weather turns"),
        since=tongue.say("Since the last sheet"),
        keep_and_reach=tongue.say("Keep and reach"),
        add_to_calendar=tongue.say("Add to calendar"),
        follow_calendar=tongue.say("Follow in a calendar"),
        calendar_lags=tongue.say("A followed calendar can be a day late. On the day, this sheet counts."),
        call=tongue.say("Call {name}", name=name) if name else tongue.say("Call"),
        write=tongue.say("Write to {name}", name=name) if name else tongue.say("Write"),
        find=tongue.say("Find the meeting point"),
        paper_a4=tongue.say("To print, on A4"),
        paper_letter=tongue.say("To print, on Letter"),
        scan=tongue.say("The newest version of this sheet"),
        not_at_the_sun=tongue.say("Please don’t look straight at the sun. I’ll tell you where to look."),
        only_drawings=tongue.say(
            "The pictures are drawings of what the light should do. The sky may have its own ideas."
        ),
        no_stops=tongue.say("Nothing is settled yet. The stops will stand here."),
        crew_sheet=tongue.say("Crew sheet"),
        crew=tongue.say("Crew"),
        settings=tongue.say("Settings"),
        lights=tongue.say("Lights and powers"),
        positions=tongue.say("Positions"),
        take_care=tongue.say("Take care"),
        unprintable=tongue.say(
            "Some letters could not be printed here. The sheet behind the code shows them all."
        ),
        chosen=tongue.say("The picture of the evening"),
    )


def shut_labels(tongue: Tongue) -> ShutLabels:
    """Return what is said of a link that is wrong, expired or withdrawn: the same for all three.

    ``busy`` and ``wait`` are for a place from which too many such links came.
    """
    return ShutLabels(
        title=tongue.say("This link opens nothing, or no longer"),
        ask=tongue.say("Ask your photographer for a new one."),
        busy=tongue.say("Please wait a minute"),
        wait=tongue.say("Too many links were tried from here that open nothing. Then open yours again."),
    )

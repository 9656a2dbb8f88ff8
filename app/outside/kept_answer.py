"""An answer of a weather service as it is kept, and when the service may be asked again."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from email.utils import parsedate_to_datetime
from typing import Protocol

import httpx

from app.errors import Unavailable
from app.outside.fetch import Answer
from app.picture.forecast import HOUR_S, Forecast, span_words
from app.place.positions import check_position

CLOCK_SLACK_S = 120.0  # a clock that is off by less spoils nothing
UNSTATED_LIFE_S = 3600.0  # for an answer that does not say how long it holds
LONGEST_LIFE_S = 6 * HOUR_S
LATEST_S = 300.0  # how much later than allowed we ask, at most, so that not everybody asks at once
FIRST_WAIT_S, LONGEST_WAIT_S = 600.0, 6 * HOUR_S


@dataclass(frozen=True)
class Spot:
    """Where the weather is wanted; four decimals are sent, 11 m, and a whole height. [°, °, m]"""

    lat_deg: float
    lon_deg: float
    height_m: float | None = None

    def __post_init__(self) -> None:
        check_position(self.lat_deg, self.lon_deg)

    @property
    def lat_text(self) -> str:
        """Latitude as it is sent."""
        return f"{self.lat_deg:.4f}"

    @property
    def lon_text(self) -> str:
        """Longitude as it is sent."""
        return f"{self.lon_deg:.4f}"

    @property
    def height_text(self) -> str:
        """Height as it is sent, empty where it is not known."""
        return "" if self.height_m is None else f"{self.height_m:.0f}"

    @property
    def key(self) -> str:
        """What answers for this spot are kept under."""
        return f"{self.lat_text},{self.lon_text},{self.height_text}"


@dataclass(frozen=True)
class Kept:
    """One answer as it came; a store keeps the last good one of each source and spot.

    Attributes
    ----------
    source, spot : str
        The source's ``key`` and the spot's.
    body : str
        Exactly what came.
    fetched_utc_s : float
        When it came, or was last confirmed, by this machine's clock. [s since 1970 UTC]
    ask_again_utc_s : float
        Before this the source is not asked. [s since 1970 UTC]
    last_modified : str, optional
        The service's own words, sent back with the next question.
    """

    source: str
    spot: str
    body: str
    fetched_utc_s: float
    ask_again_utc_s: float
    last_modified: str | None = None


@dataclass(frozen=True)
class Wait:
    """A source that asked for peace, until when, and how many times running."""

    source: str
    until_utc_s: float
    times: int = 1


@dataclass
class Batch:
    """What a source gave for some spots, gathered while it is asked.

    ``kept`` is by the spots' keys. ``fault`` says why there is no more of it; ``notes``
    say what else the reader should know; ``clock_ahead_s`` is this machine's clock
    less the service's.
    """

    kept: dict[str, Kept] = field(default_factory=dict)
    fault: str = ""
    notes: list[str] = field(default_factory=list)
    wait: Wait | None = None
    clock_ahead_s: float | None = None

    def note(self, words: str) -> None:
        """Add a sentence, once."""
        if words not in self.notes:
            self.notes.append(words)

    def hear_clock(self, name: str, answer: Answer, now_utc_s: float) -> None:
        """Compare this machine's clock with the answer's own date."""
        served = http_utc_s(answer.headers.get("date"))
        if served is None:
            return
        self.clock_ahead_s = now_utc_s - served
        if abs(self.clock_ahead_s) > CLOCK_SLACK_S:
            side = "ahead of" if self.clock_ahead_s > 0 else "behind"
            self.note(
                f"This machine's clock is {span_words(self.clock_ahead_s)} {side} that of {name}. "
                "Set it right: every time and age shown here is off by as much."
            )


class Source(Protocol):
    """One place that forecasts come from."""

    key: str
    name: str

    def ask(self, spots: Sequence[Spot], before: Mapping[str, Kept], now_utc_s: float, chance: float,
            client: httpx.Client, waited: int = 0) -> Batch:  # fmt: skip
        """Ask for what may be asked again, and give back what is kept for the rest.

        ``before`` is by the spots' keys, ``chance`` a random number in 0..1, ``waited``
        how many times running this source asked for peace. What fails is told in the
        batch; nothing is raised.
        """

    def read(self, kept: Kept) -> Forecast:
        """Return the forecast that an answer holds; raises ``Unavailable`` with a sentence."""


def holds(kept: Kept | None, now_utc_s: float) -> bool:
    """Tell whether an answer is still as new as any; not when it comes from a future that a clock was wrong about."""
    return kept is not None and kept.fetched_utc_s <= now_utc_s < kept.ask_again_utc_s


def http_utc_s(text: str | None) -> float | None:
    """Return the instant of an HTTP date, None where it is missing or none (RFC 9110, 5.6.7). [s since 1970 UTC]"""
    try:
        moment = parsedate_to_datetime(text or "")
    except ValueError:
        return None
    return (moment if moment.tzinfo else moment.replace(tzinfo=UTC)).timestamp()


def iso_utc_s(text: object) -> float:
    """Return the instant of an ISO 8601 text with its offset; raises ``Unavailable`` otherwise. [s since 1970 UTC]"""
    try:
        moment = datetime.fromisoformat(str(text))
    except ValueError:
        raise Unavailable(f"“{str(text)[:40]}” stands where a time belongs.") from None
    if moment.tzinfo is None:
        raise Unavailable(f"“{str(text)[:40]}” is a time without its offset.")
    return moment.timestamp()


def ask_again_utc_s(answer: Answer, now_utc_s: float, chance: float) -> float:
    """Return when the same may be asked again by the answer's ``Expires``, and a bit later by ``chance``.

    Counted from the answer's own ``Date``, so that a wrong clock here asks neither
    too often nor never. ``chance`` is a random number in 0..1. [s since 1970 UTC]
    """
    expires, served = http_utc_s(answer.headers.get("expires")), http_utc_s(answer.headers.get("date"))
    life_s = UNSTATED_LIFE_S if expires is None else expires - (now_utc_s if served is None else served)
    return now_utc_s + min(max(life_s, 0.0), LONGEST_LIFE_S) + chance * LATEST_S


def wait_after(source: str, answer: Answer, now_utc_s: float, times: int) -> Wait:
    """Return how long to leave a service alone that said so for the ``times``-th time running.

    As long as its ``Retry-After`` says, else ten minutes, doubled each time, six hours at most.
    """
    said = answer.headers.get("retry-after", "").strip()
    wait_s = min(FIRST_WAIT_S * 2.0 ** min(times - 1, 10), LONGEST_WAIT_S)
    if said.isdigit() and len(said) < 7:
        wait_s = max(wait_s, float(said))
    elif (until := http_utc_s(said)) is not None:
        wait_s = max(wait_s, until - (http_utc_s(answer.headers.get("date")) or now_utc_s))
    return Wait(source, now_utc_s + min(wait_s, 4 * LONGEST_WAIT_S), times)


def off_the_hour_utc_s(wanted_utc_s: float, chance: float) -> float:
    """Return when a timer asks that was set for a full hour: 3 to 20 minutes later, by a random number in 0..1.

    MET Norway's terms ask not to come on the hour, when everybody does. [s since 1970 UTC]
    """
    return wanted_utc_s + 180.0 + chance * 1020.0

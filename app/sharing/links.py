"""Links that open a sheet: unguessable, limited in time, to be withdrawn or renewed.

After the W3C TAG's "Good Practices for Capability URLs" (2014): at least 120 bits from
a secure generator, an end, each link revocable alone. A token is shown once, when it
is made; what is kept is its SHA-256, which needs no salt because the token is random.
"""

import hashlib
import hmac
import math
import re
import secrets
from dataclasses import dataclass, replace
from enum import Enum

from app.errors import BadInput, NotFound

TOKEN_BYTES = 24  # 192 bits
TOKEN = re.compile(r"[A-Za-z0-9_-]{32}")
DAY_S = 86_400
LONGEST_S = 400 * DAY_S  # a date booked a year ahead, and a month to look back
AFTER_THE_DAY_S = 30 * DAY_S  # what a link gets where nobody said anything


class Opens(Enum):
    """What a link opens."""

    COUPLE = "couple"
    CREW = "crew"
    CALENDAR = "calendar"


class State(Enum):
    """What has become of a link. Told to the owner only; others see open or nothing."""

    OPEN = "open"
    EXPIRED = "expired"
    WITHDRAWN = "withdrawn"


@dataclass(frozen=True)
class Link:
    """One link as it is kept. Times in seconds since 1970, UTC. [s]

    ``language`` is a tag that ``app.sharing.languages`` knows. ``opened_utc_s`` is
    when somebody last opened it. How far ahead it may end counts from when it was made
    or renewed last, which ``check_end`` is for.
    """

    id: str
    shoot: str
    opens: Opens
    token_sha256: str
    made_utc_s: float
    expires_utc_s: float
    language: str = "en"
    withdrawn_utc_s: float | None = None
    opened_utc_s: float | None = None

    def __post_init__(self) -> None:
        if not (math.isfinite(self.expires_utc_s) and self.expires_utc_s > self.made_utc_s):
            raise BadInput("A link ends at an instant after it was made; choose another day.", "expires")


def new_token() -> str:
    """Return the secret part of a link: 32 letters, digits, - and _, 192 random bits."""
    return secrets.token_urlsafe(TOKEN_BYTES)


def digest(token: str) -> str:
    """Return what is kept of a token: its SHA-256, in hexadecimal. Any text will do."""
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()


def could_be_token(text: str) -> bool:
    """Return whether a text has the shape of a token, before anything is looked up."""
    return TOKEN.fullmatch(text) is not None


def state_of(link: Link, now_utc_s: float) -> State:
    """Return whether a link opens at a moment, and why not; it ends at its last second."""
    if link.withdrawn_utc_s is not None:
        return State.WITHDRAWN
    return State.OPEN if now_utc_s < link.expires_utc_s else State.EXPIRED


def opened(link: Link | None, token: str, now_utc_s: float) -> Link:
    """Return the link as opened now by this token.

    Parameters
    ----------
    link : Link, optional
        What is kept under ``digest(token)``, if anything.
    token : str
        As it came.
    now_utc_s : float
        Seconds since 1970, UTC. [s]

    Raises
    ------
    NotFound
        One and the same for a token that is wrong, expired or withdrawn, after the
        same work: who guesses learns nothing.
    """
    kept = link.token_sha256 if link else digest("")
    right = hmac.compare_digest(kept, digest(token))
    if link is None or not right or state_of(link, now_utc_s) is not State.OPEN:
        raise NotFound("This link opens nothing, or no longer. Ask your photographer for a new one.")
    return replace(link, opened_utc_s=now_utc_s)


def withdrawn(link: Link, now_utc_s: float) -> Link:
    """Return the link closed for good; one that was withdrawn before keeps its date."""
    return link if link.withdrawn_utc_s is not None else replace(link, withdrawn_utc_s=now_utc_s)


def renewed(link: Link, now_utc_s: float, expires_utc_s: float) -> Link:
    """Return the link with a later end, for the same token.

    Raises
    ------
    BadInput
        If it was withdrawn: what was taken back stays so, a new link is made instead.
        For an end that ``check_end`` refuses.
    """
    if link.withdrawn_utc_s is not None:
        raise BadInput("A withdrawn link stays closed. Make a new one.", "expires")
    check_end(now_utc_s, expires_utc_s)
    return replace(link, expires_utc_s=expires_utc_s)


def usual_end_utc_s(done_utc_s: float, now_utc_s: float) -> float:
    """Return when a link ends unless told otherwise: 30 days after the later of both, if allowed. [s]"""
    return min(max(done_utc_s, now_utc_s) + AFTER_THE_DAY_S, now_utc_s + LONGEST_S)


def check_end(now_utc_s: float, expires_utc_s: float) -> None:
    """Raise ``BadInput`` for an end that a link made or renewed now cannot have."""
    if not (math.isfinite(expires_utc_s) and 0 < expires_utc_s - now_utc_s <= LONGEST_S):
        limit = f"{LONGEST_S // DAY_S} days"
        raise BadInput(f"A link ends in the future, within {limit}; choose another day.", "expires")

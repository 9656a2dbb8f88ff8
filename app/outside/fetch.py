"""The one way out to other people's services: polite, limited, and told in words."""

import time
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from urllib.parse import urlsplit

import httpx

from app.errors import Unavailable

TIMEOUT_S = 10.0  # for a connection, and for each pause in an answer
USER_AGENT = "Westering (plans portraits by the light; asks when a button is pressed)"
MOST_REDIRECTS = 3


@dataclass(frozen=True)
class Answer:
    """What came: the status, the headers by their names in small letters, and the body."""

    status: int
    headers: Mapping[str, str]
    body: bytes


class NotThere(Unavailable):
    """The service answers, but has nothing at that address."""


class Hopeless(Unavailable):
    """The service would answer the next question no better: it is down, refuses us or is overrun."""


def open_client(timeout_s: float = TIMEOUT_S) -> httpx.Client:
    """Return a client that keeps one connection and says who is asking."""
    return httpx.Client(
        headers={"User-Agent": USER_AGENT},
        timeout=timeout_s,
        follow_redirects=True,
        max_redirects=MOST_REDIRECTS,
        limits=httpx.Limits(max_connections=1),
    )


def fetched(client: httpx.Client, address: str, most_bytes: int, longest_s: float = 30.0) -> bytes:
    """Return what lies at an address.

    Parameters
    ----------
    most_bytes : int
        An answer with more is given up, however it was announced.
    longest_s : float
        The whole answer has to come within this time. [s]

    Raises
    ------
    Unavailable
        With a sentence for the reader; as ``NotThere`` or ``Hopeless`` where that
        is known. The sentence names the host alone: a path may hold a key.
    """
    return asked(client, address, most_bytes, longest_s).body


def asked(
    client: httpx.Client, address: str, most_bytes: int, longest_s: float = 30.0,
    headers: Mapping[str, str] | None = None, understood: Collection[int] = (),
) -> Answer:  # fmt: skip
    """Return the whole answer that an address gives; as ``fetched``, which says what is raised.

    Parameters
    ----------
    headers : mapping, optional
        To be sent with the question, and to replace the client's own.
    understood : collection of int
        Statuses besides 200 that the caller has its own words for; they are not raised.
    """
    host = _host(address)
    try:
        with client.stream("GET", address, headers=headers) as answer:
            if answer.status_code not in understood:
                _refuse_unless_good(host, answer.status_code)
            body = _body(host, answer, most_bytes, time.monotonic() + longest_s)
            return Answer(answer.status_code, {name.lower(): value for name, value in answer.headers.items()}, body)
    except httpx.TimeoutException as error:
        raise Unavailable(f"{host} took too long to answer.") from error
    except (httpx.ConnectError, UnicodeError) as error:  # the latter for a name no host can have
        raise Hopeless(f"{host} cannot be reached. Is this machine online, and the address right?") from error
    except httpx.TooManyRedirects as error:
        raise Hopeless(f"{host} sends from one address to the next without end.") from error
    except (httpx.HTTPError, httpx.InvalidURL) as error:
        raise Unavailable(f"{host} broke off in the middle of an answer.") from error


def _refuse_unless_good(host: str, status: int) -> None:
    if status in (204, 404, 410):
        raise NotThere(f"{host} has nothing there (status {status}).")
    if status in (401, 402, 403):
        raise Hopeless(f"{host} refuses to answer us (status {status}). Its address may lack a key, or one has run out.")
    if status in (429, 503):
        raise Hopeless(f"{host} has too much to do (status {status}). Try again in an hour.")
    if status != 200:
        raise Unavailable(f"{host} answered with an error (status {status}).")


def _body(host: str, answer: httpx.Response, most_bytes: int, until_s: float) -> bytes:
    body = bytearray()
    for piece in answer.iter_bytes():
        body += piece
        if len(body) > most_bytes:
            raise Unavailable(f"{host} sent more than {most_bytes / 1e6:g} MB in one answer; that was given up.")
        if time.monotonic() > until_s:
            raise Unavailable(f"{host} took too long to answer.")
    return bytes(body)


def _host(address: str) -> str:
    try:
        return urlsplit(address).hostname or "The service"
    except ValueError:
        return "The service"

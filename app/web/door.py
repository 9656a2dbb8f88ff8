"""The owner's door: where others could reach Westering, its pages open to a passphrase alone."""

import ipaddress
from collections.abc import Awaitable, Callable, MutableMapping
from datetime import UTC, datetime, timedelta
from http.cookies import CookieError, SimpleCookie
from typing import Any
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool

from app.storage.door_book import DoorBook
from app.web.guard import App, Scope, Send, say

COOKIE = "westering"
LASTS = timedelta(days=30)
# What a guest may ask for: shared sheets, their looks and the door itself.
OPEN_TO_ALL = ("/with/", "/static/", "/door", "/robots.txt")
PRIVATE = (b"cache-control", b"no-store")


class Door:
    """Let in who has a session; send pages to the door and answer everything else with 401."""

    def __init__(self, app: App, book: Callable[[], DoorBook], clock: Callable[[], float]) -> None:
        self.app, self.book, self.clock = app, book, clock

    async def __call__(self, scope: Scope, receive: Callable[[], Awaitable[Any]], send: Send) -> None:
        if scope["type"] != "http" or is_open(scope["path"]):
            await self.app(scope, receive, send)
        elif await self._is_in(scope):
            await self.app(scope, receive, _privately(send))
        elif scope["method"] in ("GET", "HEAD") and not scope["path"].startswith("/api/"):
            await _to_the_door(scope, send)
        else:
            await say(send, 401, "This needs the owner's passphrase. Open the first page and give it there.")

    async def _is_in(self, scope: Scope) -> bool:
        token = session_token(scope)
        now = datetime.fromtimestamp(self.clock(), UTC)
        return token is not None and await run_in_threadpool(self.book().is_in, token, now)


def is_open(path: str) -> bool:
    """Tell whether a path is for everybody."""
    return any(path == one.rstrip("/") or path.startswith(one if one.endswith("/") else f"{one}/") for one in OPEN_TO_ALL)


def session_token(scope: Scope) -> str | None:
    """Return the token in the request's cookie."""
    for name, value in scope["headers"]:
        if name == b"cookie":
            try:
                found = SimpleCookie(value.decode("latin-1")).get(cookie_name(scope))
            except CookieError:
                return None
            if found and found.value:
                return found.value
    return None


def cookie_name(scope: Scope) -> str:
    """Return the cookie's name; over https its prefix lets no other host set it."""
    return f"__Host-{COOKIE}" if scope["scheme"] == "https" else COOKIE


def where_from(host: str | None) -> str:
    """Return whom wrong tries are counted for: an address, or the network of an IPv6 one."""
    try:
        address = ipaddress.ip_address((host or "").split("%")[0])
    except ValueError:
        return host or "unknown"
    if isinstance(address, ipaddress.IPv6Address) and not address.ipv4_mapped:
        return str(ipaddress.ip_network((address, 64), strict=False))
    return str(getattr(address, "ipv4_mapped", None) or address)


def _privately(send: Send) -> Send:
    async def sending(message: MutableMapping[str, Any]) -> None:
        if message["type"] == "http.response.start" and not any(name == b"cache-control" for name, _ in message["headers"]):
            message["headers"] = [*message["headers"], PRIVATE]
        await send(message)

    return sending


async def _to_the_door(scope: Scope, send: Send) -> None:
    query = scope["query_string"].decode("latin-1")
    wanted = scope["path"] + (f"?{query}" if query else "")
    headers = [(b"location", f"/door?to={quote(wanted, safe='')}".encode()), PRIVATE]
    await send({"type": "http.response.start", "status": 303, "headers": headers})
    await send({"type": "http.response.body", "body": b""})

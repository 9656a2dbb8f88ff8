"""What every answer carries and what every request must show, as plain ASGI middleware."""

from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any
from urllib.parse import urlsplit

from starlette.exceptions import HTTPException

Scope = MutableMapping[str, Any]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]
App = Callable[[Scope, Callable[[], Awaitable[Any]], Send], Awaitable[None]]

SAFE_METHODS = {"GET", "HEAD", "OPTIONS"}
MOST_BYTES = 24_000_000  # a picture of 20 MB and its form
MOST_BYTES_AT = {"/terrain": 120_000_000}  # four whole degrees of elevation, by the ending of the address
REFUSED = (
    "This change did not come from one of Westering's own pages, so it was not made. "
    "Open the page again and repeat it there."
)
OWN_NAMES = {"127.0.0.1", "localhost", "::1", "testserver"}
STRANGE_HOST = "Westering answers here only as 127.0.0.1 or localhost."


class Guard:
    """Refuse changes from foreign pages and foreign host names; add the security headers.

    On loopback nobody logs in, so any web page open in the same browser could
    post here: a request that changes something must say by Sec-Fetch-Site or
    Origin that it comes from our own page, or carry neither, as command-line
    programs do. The host is checked so that a name rebound to this machine
    gets nothing. ``image_sources`` gives further hosts for pictures (map tiles).

    Behind the owner's door (``closed``) any host name is answered, for a session is
    needed anyhow, and a change that carries neither header is refused as well.
    """

    def __init__(self, app: App, image_sources: Callable[[], tuple[str, ...]] = tuple, closed: bool = False) -> None:
        self.app, self.image_sources, self.closed = app, image_sources, closed

    async def __call__(self, scope: Scope, receive: Callable[[], Awaitable[Any]], send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = {name.decode("latin-1"): value.decode("latin-1") for name, value in scope["headers"]}
        refusal = self._refusal(scope["method"], scope["path"], headers)
        if refusal:
            await say(send, *refusal)
            return
        await self.app(scope, _counted(receive, _most_bytes(scope["path"])), self._with_headers(scope, send))

    def _refusal(self, method: str, path: str, headers: dict[str, str]) -> tuple[int, str] | None:
        host = headers.get("host", "")
        if not self.closed and urlsplit(f"//{host}").hostname not in OWN_NAMES:
            return 421, STRANGE_HOST
        if method not in SAFE_METHODS and not _own_page(headers, host, self.closed):
            return 403, REFUSED
        most = _most_bytes(path)
        if headers.get("content-length", "0").isdigit() and int(headers.get("content-length", "0")) > most:
            return 413, _too_much(most)
        return None

    def _with_headers(self, scope: Scope, send: Send) -> Send:
        async def sending(message: MutableMapping[str, Any]) -> None:
            if message["type"] == "http.response.start":
                message["headers"] = [*message["headers"], *self._headers(scope)]
            await send(message)

        return sending

    def _headers(self, scope: Scope) -> list[tuple[bytes, bytes]]:
        images = " ".join(("'self'", "data:", "blob:", *self.image_sources()))
        policy = (
            f"default-src 'self'; img-src {images}; style-src 'self'; script-src 'self'; object-src 'none'; "
            "base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
        )
        lasting = [(b"strict-transport-security", b"max-age=31536000")] if scope["scheme"] == "https" else []
        return [
            *lasting,
            (b"content-security-policy", policy.encode("latin-1")),
            (b"referrer-policy", b"same-origin"),
            (b"x-content-type-options", b"nosniff"),
            (b"cross-origin-opener-policy", b"same-origin"),
        ]


def _most_bytes(path: str) -> int:
    return next((most for ending, most in MOST_BYTES_AT.items() if path.endswith(ending)), MOST_BYTES)


def _too_much(most: int) -> str:
    return f"At most {most // 1_000_000} MB can be sent at once."


def _counted(receive: Callable[[], Awaitable[Any]], most: int) -> Callable[[], Awaitable[Any]]:
    """Return a receive that stops a body which grew larger than it said, or said nothing."""
    came = 0

    async def receiving() -> Any:
        nonlocal came
        message = await receive()
        came += len(message.get("body", b""))
        if came > most:
            raise HTTPException(413, _too_much(most))
        return message

    return receiving


def _own_page(headers: dict[str, str], host: str, closed: bool) -> bool:
    """Tell whether a change comes from our own page or, while no door is closed, from no page at all."""
    site, origin = headers.get("sec-fetch-site"), headers.get("origin")
    if site is not None:
        return site in ("same-origin", "none")
    if origin is None:
        return not closed
    return origin != "null" and urlsplit(origin).netloc == host


async def say(send: Send, status: int, words: str) -> None:
    headers = [(b"content-type", b"text/plain; charset=utf-8"), (b"x-content-type-options", b"nosniff")]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": words.encode()})

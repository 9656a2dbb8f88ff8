"""What every answer carries and what every request must show, as plain ASGI middleware."""

from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any
from urllib.parse import urlsplit

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
STRANGE_HOST = "Westering answers here only as 127.0.0.1 or localhost."


class Guard:
    """Refuse changes from foreign pages and foreign host names; add the security headers.

    On loopback nobody logs in, so any web page open in the same browser could
    post here: a request that changes something must say by Sec-Fetch-Site or
    Origin that it comes from our own page, or carry neither, as command-line
    programs do. The host is checked so that a name rebound to this machine
    gets nothing. ``image_sources`` gives further hosts for pictures (map tiles).
    """

    def __init__(self, app: App, image_sources: Callable[[], tuple[str, ...]] = tuple) -> None:
        self.app, self.image_sources = app, image_sources

    async def __call__(self, scope: Scope, receive: Callable[[], Awaitable[Any]], send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = {name.decode("latin-1"): value.decode("latin-1") for name, value in scope["headers"]}
        refusal = self._refusal(scope["method"], scope["path"], headers)
        if refusal:
            await _say(send, *refusal)
            return
        await self.app(scope, receive, self._with_headers(send))

    def _refusal(self, method: str, path: str, headers: dict[str, str]) -> tuple[int, str] | None:
        host = headers.get("host", "")
        if urlsplit(f"//{host}").hostname not in {"127.0.0.1", "localhost", "::1", "testserver"}:
            return 421, STRANGE_HOST
        if method not in SAFE_METHODS and not _own_page(headers, host):
            return 403, REFUSED
        most = next((most for ending, most in MOST_BYTES_AT.items() if path.endswith(ending)), MOST_BYTES)
        if headers.get("content-length", "0").isdigit() and int(headers.get("content-length", "0")) > most:
            return 413, f"At most {most // 1_000_000} MB can be sent at once."
        return None

    def _with_headers(self, send: Send) -> Send:
        async def sending(message: MutableMapping[str, Any]) -> None:
            if message["type"] == "http.response.start":
                message["headers"] = [*message["headers"], *self._headers()]
            await send(message)

        return sending

    def _headers(self) -> list[tuple[bytes, bytes]]:
        images = " ".join(("'self'", "data:", "blob:", *self.image_sources()))
        policy = (
            f"default-src 'self'; img-src {images}; style-src 'self'; script-src 'self'; object-src 'none'; "
            "base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
        )
        return [
            (b"content-security-policy", policy.encode("latin-1")),
            (b"referrer-policy", b"same-origin"),
            (b"x-content-type-options", b"nosniff"),
            (b"cross-origin-opener-policy", b"same-origin"),
        ]


def _own_page(headers: dict[str, str], host: str) -> bool:
    """Tell whether a change comes from our own page or from no page at all."""
    site, origin = headers.get("sec-fetch-site"), headers.get("origin")
    if site is not None:
        return site in ("same-origin", "none")
    return origin is None or (origin != "null" and urlsplit(origin).netloc == host)


async def _say(send: Send, status: int, words: str) -> None:
    headers = [(b"content-type", b"text/plain; charset=utf-8"), (b"x-content-type-options", b"nosniff")]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": words.encode()})

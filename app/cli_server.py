"""The server on this machine: a free port, the demo sites, the address once it answers."""

import errno
import os
import socket
import sys
import threading
import webbrowser
from collections.abc import Iterator, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any

from uvicorn import Config, Server

from app.errors import BadInput, Unavailable
from app.main import create_app
from app.place.strict_json import read_json
from app.settings import Settings
from app.storage.store import Store
from app.web.mornings_timer import start_timer

DEMO_SITES = Path(__file__).parent.parent / "demo_sites"
DEMO_KEY = "demo_sites"
DEMO_SHOOT, DEMO_SHOOT_KEY = DEMO_SITES / "merrowmere-evening.json", "demo_shoot"
TRIED_PORTS = 50
WAITING = 128  # connections that may queue while the program is still loading
GOODBYE_S = 3  # what an answer under way has to end after Ctrl-C


def serve(settings: Settings, port: int | None, open_browser: bool, with_demo: bool) -> None:
    """Serve until Ctrl-C; the last line of the start is the address.

    A port that is taken is passed over for the next free one, which is said.
    """
    with suppress(KeyboardInterrupt), _listening(settings.host, settings.port if port is None else port) as ear:
        app = create_app(settings)
        try:
            refuse_open_door(settings, app.state.store)
            if with_demo:
                load_demo_sites(app.state.store)
            start_timer(app.state.store, app.state.weather_services)
            config = Config(
                app, log_level="warning", access_log=False, server_header=False, timeout_graceful_shutdown=GOODBYE_S,
                ssl_certfile=settings.tls_cert, ssl_keyfile=settings.tls_key,
            )  # fmt: skip
            _Announcing(config, open_browser).run([ear])
        finally:
            app.state.store.close()


def refuse_open_door(settings: Settings, store: Store) -> None:
    """Raise ``BadInput`` where others could come in while no passphrase is set."""
    if settings.closed and store.door.passphrase_hash() is None:
        raise BadInput(
            f"Others could reach Westering at {settings.host}, and no passphrase is set. "
            "Set one with “westering passphrase”, or leave --host away to serve this machine alone.",
            "host",
        )


def load_demo_sites(store: Store) -> None:
    """Keep the demo sites and the demo shoot, once: one that was deleted stays deleted."""
    store.load_once(DEMO_KEY, _demo_documents())
    if store.setting(DEMO_SHOOT_KEY) is None:
        data = DEMO_SHOOT.read_bytes()
        shoot = read_json(data, len(data))
        store.shoots.add(shoot["name"], shoot)
        store.save_setting(DEMO_SHOOT_KEY, "loaded")


def has_screen(platform: str = sys.platform, environment: Mapping[str, str] = os.environ) -> bool:
    """Tell whether a browser window could be seen."""
    return platform != "linux" or bool(environment.get("DISPLAY") or environment.get("WAYLAND_DISPLAY"))


class _Announcing(Server):
    """Says where it is once it accepts connections, and opens the browser there."""

    def __init__(self, config: Config, open_browser: bool) -> None:
        super().__init__(config)
        self.open_browser = open_browser

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets)
        if self.started and sockets:
            host, port = sockets[0].getsockname()[:2]
            address = f"{'https' if self.config.is_ssl else 'http'}://{f'[{host}]' if ':' in host else host}:{port}/"
            print(f"Westering is at {address} (stop it with Ctrl-C)", flush=True)
            if self.open_browser and has_screen():
                threading.Thread(target=webbrowser.open, args=[address], daemon=True).start()


def _demo_documents() -> Iterator[Any]:
    for path in sorted(DEMO_SITES.glob("*.geojson")):
        data = path.read_bytes()
        yield read_json(data, len(data))


def _listening(host: str, wanted: int) -> socket.socket:
    """Return a socket that listens on the wanted port or the next free one; 0 leaves the choice to the system."""
    try:
        socket.getaddrinfo(host, wanted)
    except OSError as error:
        raise BadInput(f"There is no address “{host[:60]}”.", "host") from error
    for port in range(wanted, min(wanted + TRIED_PORTS, 65_536)):
        found = _taken_or(host, port)
        if found and port != wanted:
            print(f"Port {wanted} is taken; port {port} is free.", flush=True)
        if found:
            return found
    raise Unavailable(f"Port {wanted} is taken and so are those after it; name another with --port.")


def _taken_or(host: str, port: int) -> socket.socket | None:
    """Return a listening socket, or None where the port is taken or not for us.

    It listens at once: two programs may be bound to a port, only one can listen.
    """
    family, *_, address = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0]
    ear = socket.socket(family, socket.SOCK_STREAM)
    if os.name == "posix":  # or a port would be taken for a minute after every stop
        ear.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        ear.bind(address)
        ear.listen(WAITING)
    except OSError as error:
        ear.close()
        if error.errno == errno.EADDRNOTAVAIL:
            raise BadInput(f"{host} is not an address of this machine.", "host") from error
        return None
    return ear

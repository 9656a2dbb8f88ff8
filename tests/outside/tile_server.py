"""A stand-in for a service of elevation tiles, on loopback, that can fall ill in many ways."""

import math
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from io import BytesIO

import numpy as np
from PIL import Image

Answer = Callable[["Handler", int, int, int], None]


def landscape(lat_deg: np.ndarray, lon_deg: np.ndarray) -> np.ndarray:
    """Heights of a made country: long swells, below the sea in places. [m]"""
    return 250 + 200 * np.sin(lat_deg * 40) + 150 * np.cos(lon_deg * 60) - 0.25 * np.sin(lon_deg * 1000)


def tile_png(zoom: int, x: int, y: int, height_m: Callable = landscape, side: int = 256) -> bytes:
    """The landscape as one tile, encoded as 256 R + G + B/256 - 32768."""
    pixel = (np.arange(side) + 0.5) / side
    lon = (x + pixel) / 2**zoom * 360 - 180
    lat = np.degrees(np.arctan(np.sinh(math.pi * (1 - 2 * (y + pixel) / 2**zoom))))
    code = np.round((height_m(lat[:, None], lon[None, :]) + 32768) * 256).astype(np.int64)
    colours = np.stack([code >> 16, code >> 8 & 255, code & 255], axis=-1).astype(np.uint8)
    file = BytesIO()
    Image.fromarray(colours).save(file, "PNG")
    return file.getvalue()


class Handler(BaseHTTPRequestHandler):
    """Answers /{z}/{x}/{y}.png as the server's ``answer`` says, and counts."""

    def do_GET(self) -> None:
        self.server.asked.append((self.path, self.headers["User-Agent"]))
        zoom, x, y = (int(part) for part in self.path.split(".")[0].strip("/").split("/")[-3:])
        self.server.answer(self, zoom, x, y)

    def say(self, status: int, body: bytes, media_type: str = "image/png", **headers: str) -> None:
        self.send_response(status)
        self.send_header("Content-Type", media_type)
        self.send_header("Content-Length", str(len(body)))
        for name, value in headers.items():
            self.send_header(name, value)
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *_: object) -> None:
        pass


def well(handler: Handler, zoom: int, x: int, y: int) -> None:
    handler.say(200, tile_png(zoom, x, y))


def status(code: int) -> Answer:
    return lambda handler, *_: handler.say(code, b"trouble", "text/plain")


def web_page(handler: Handler, *_: int) -> None:
    handler.say(200, b"<!doctype html><title>Please sign in</title>", "text/html")


def no_picture(handler: Handler, *_: int) -> None:
    handler.say(200, b"\x89PNG\r\n\x1a\n cut off")


def too_small(handler: Handler, zoom: int, x: int, y: int) -> None:
    handler.say(200, tile_png(zoom, x, y, side=128))


def too_much(handler: Handler, *_: int) -> None:
    handler.say(200, bytes(3_000_000))


def slow(handler: Handler, *_: int) -> None:
    time.sleep(1.0)
    handler.close_connection = True


def trickle(handler: Handler, *_: int) -> None:
    """A byte every now and then, so that no single pause is long."""
    handler.send_response(200)
    handler.end_headers()
    try:
        for _ in range(100):
            handler.wfile.write(b"\x89")
            handler.wfile.flush()
            time.sleep(0.05)
    except OSError:
        pass


def hang_up(handler: Handler, *_: int) -> None:
    handler.send_response(200)
    handler.send_header("Content-Length", "1000")
    handler.end_headers()
    handler.wfile.write(b"\x89PNG")
    handler.close_connection = True


def in_circles(handler: Handler, zoom: int, x: int, y: int) -> None:
    handler.say(302, b"", Location=f"/round{handler.path}")


@contextmanager
def served(answer: Answer = well) -> Iterator[ThreadingHTTPServer]:
    """Run the stand-in; ``address`` is its template, ``asked`` lists what was asked by whom."""
    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    server.daemon_threads = True
    server.answer, server.asked = answer, []
    server.address = f"http://127.0.0.1:{server.server_port}/{{z}}/{{x}}/{{y}}.png"
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01})
    thread.start()
    try:
        yield server
    finally:
        server.shutdown()
        thread.join()
        server.server_close()

"""A stand-in for weather services, on loopback: whole answers in the documented shapes, and all kinds of trouble."""

import json
import threading
import time
from contextlib import contextmanager
from datetime import UTC, datetime
from email.utils import format_datetime
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from urllib.parse import parse_qs, urlsplit

NOW = 1_821_290_400.0  # the machine's clock in these tests: an invented evening
HOUR = 3600.0
LAST_MODIFIED = "Sat, 18 Sep 2027 15:31:07 GMT"
MET_UNITS = {
    "air_pressure_at_sea_level": "hPa", "air_temperature": "celsius", "air_temperature_max": "celsius",
    "air_temperature_min": "celsius", "air_temperature_percentile_10": "celsius", "air_temperature_percentile_90": "celsius",
    "cloud_area_fraction": "%", "cloud_area_fraction_high": "%", "cloud_area_fraction_low": "%",
    "cloud_area_fraction_medium": "%", "dew_point_temperature": "celsius", "fog_area_fraction": "%",
    "precipitation_amount": "mm", "precipitation_amount_max": "mm", "precipitation_amount_min": "mm",
    "probability_of_precipitation": "%", "probability_of_thunder": "%", "relative_humidity": "%",
    "ultraviolet_index_clear_sky": "1", "wind_from_direction": "degrees", "wind_speed": "m/s",
    "wind_speed_of_gust": "m/s", "wind_speed_percentile_10": "m/s", "wind_speed_percentile_90": "m/s",
}  # fmt: skip


def iso(utc_s):
    return datetime.fromtimestamp(utc_s, UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def http_date(utc_s):
    return format_datetime(datetime.fromtimestamp(utc_s, UTC), usegmt=True)


def met_details(step, gust=True):
    details = {
        "air_pressure_at_sea_level": 1013.2 + step / 10, "air_temperature": 14.5 - step / 2,
        "air_temperature_percentile_10": 13.4, "air_temperature_percentile_90": 15.2, "cloud_area_fraction": 62.5,
        "cloud_area_fraction_high": 50.0, "cloud_area_fraction_low": 12.5 + step, "cloud_area_fraction_medium": 0.0,
        "dew_point_temperature": 9.1, "fog_area_fraction": 0.0, "relative_humidity": 70.2,
        "ultraviolet_index_clear_sky": 0.3, "wind_from_direction": 240.5, "wind_speed": 3.2,
        "wind_speed_percentile_10": 2.1, "wind_speed_percentile_90": 4.9,
    }  # fmt: skip
    return {**details, "wind_speed_of_gust": 6.4} if gust else details


def met_row(step, utc_s, gust=True, hourly=True):
    data = {"instant": {"details": met_details(step, gust)}}
    data["next_12_hours"] = {"summary": {"symbol_code": "partlycloudy_night", "symbol_confidence": "certain"},
                             "details": {"probability_of_precipitation": 12.0}}  # fmt: skip
    if hourly:
        data["next_1_hours"] = {"summary": {"symbol_code": "cloudy"},
                                "details": {"precipitation_amount": 0.2, "precipitation_amount_max": 0.4,
                                            "precipitation_amount_min": 0.0, "probability_of_precipitation": 30.0,
                                            "probability_of_thunder": 0.1}}  # fmt: skip
    data["next_6_hours"] = {"summary": {"symbol_code": "rain"},
                            "details": {"air_temperature_max": 15.0, "air_temperature_min": 9.0, "precipitation_amount": 3.0,
                                        "precipitation_amount_max": 4.0, "precipitation_amount_min": 1.0,
                                        "probability_of_precipitation": 50.0}}  # fmt: skip
    return {"time": iso(utc_s), "data": data}


def met_answer(lat=54.57, lon=-3.13, height=75, gust=True, first=NOW):
    """As MET Norway documents locationforecast 2.0 “complete”: hourly rows, then six-hourly ones, and a bare last."""
    rows = [met_row(step, first + step * HOUR, gust) for step in range(6)]
    rows += [met_row(step, first + (5 + 6 * (step - 5)) * HOUR, gust, hourly=False) for step in range(6, 9)]
    rows.append({"time": iso(first + 29 * HOUR), "data": {"instant": {"details": met_details(9, gust)}}})
    return {
        "type": "Feature",
        "geometry": {"type": "Point", "coordinates": [lon, lat, height]},
        "properties": {"meta": {"updated_at": iso(first - 2 * HOUR), "units": dict(MET_UNITS)}, "timeseries": rows},
    }


OPEN_UNITS = {
    "time": "unixtime", "cloud_cover": "%", "cloud_cover_low": "%", "cloud_cover_mid": "%", "cloud_cover_high": "%",
    "wind_speed_10m": "m/s", "wind_gusts_10m": "m/s", "wind_direction_10m": "°", "visibility": "m",
    "precipitation": "mm", "temperature_2m": "°C", "pressure_msl": "hPa",
}  # fmt: skip


def open_answer(lat=54.56, lon=-3.12, first=NOW, **columns):
    """As Open-Meteo documents /v1/forecast for one place; the place is that of its grid."""
    hourly = {
        "time": [int(first + step * HOUR) for step in range(4)],
        "cloud_cover": [100, 80, 60, None], "cloud_cover_low": [10, 20, 30, 40], "cloud_cover_mid": [0, 0, 0, 0],
        "cloud_cover_high": [90, 75, 50, 25], "wind_speed_10m": [2.0, 3.0, 4.0, 5.0], "wind_gusts_10m": [5.1, 6.1, 7.1, 8.1],
        "wind_direction_10m": [350, 10, 20, 30], "visibility": [24140.0, 20000.0, 900.0, 400.0],
        "precipitation": [9.0, 0.5, 0.0, 1.5], "temperature_2m": [14.0, 13.5, 12.0, 11.0],
        "pressure_msl": [1012.0, 1012.5, 1013.0, 1013.5],
    }  # fmt: skip
    return {
        "latitude": lat, "longitude": lon, "generationtime_ms": 0.12, "utc_offset_seconds": 0, "timezone": "GMT",
        "timezone_abbreviation": "GMT", "elevation": 75.0, "hourly_units": dict(OPEN_UNITS), "hourly": {**hourly, **columns},
    }  # fmt: skip


class Handler(BaseHTTPRequestHandler):
    def do_GET(self):
        query = parse_qs(urlsplit(self.path).query)
        self.server.asked.append((query, dict(self.headers)))
        self.server.answer(self)

    def say(self, status, body=b"", media_type="application/json", clock=NOW, **headers):
        encoded = body if isinstance(body, bytes) else json.dumps(body).encode()
        self.send_response_only(status)
        known = {"Date": http_date(clock), "Content-Type": media_type, "Content-Length": str(len(encoded))}
        for name, value in {**known, **{name.replace("_", "-"): value for name, value in headers.items()}}.items():
            self.send_header(name, value)
        self.end_headers()
        self.wfile.write(b"" if status == 304 else encoded)

    def log_message(self, *_):
        pass


def says(body=b"", status=200, media_type="application/json", **headers):
    return lambda handler: handler.say(status, body, media_type, **headers)


def met_says(status=200, clock=NOW, life_s=1800.0, **values):
    """A healthy answer of MET Norway, good for half an hour."""
    headers = {"Expires": http_date(clock + life_s), "Last_Modified": LAST_MODIFIED}
    return lambda handler: handler.say(status, met_answer(**values), clock=clock, **headers)


def sleeps(handler):
    time.sleep(1.0)
    handler.close_connection = True


def hangs_up(handler):
    handler.send_response_only(200)
    handler.send_header("Content-Length", "100000")
    handler.end_headers()
    handler.wfile.write(b'{"type": "Feature", "properties":')
    handler.close_connection = True


def then(*answers):
    """One answer after the other; the last again and again."""
    left = list(answers)
    return lambda handler: (left.pop(0) if len(left) > 1 else left[0])(handler)


@contextmanager
def served(answer):
    """Run the stand-in; ``address`` is where it is asked, ``asked`` lists queries and headers."""
    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    server.daemon_threads = True
    server.answer, server.asked = answer, []
    server.address = f"http://127.0.0.1:{server.server_port}/forecast"
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01})
    thread.start()
    try:
        yield server
    finally:
        server.shutdown()
        thread.join()
        server.server_close()

"""A weather service on this machine that answers as it is told, also badly."""

import json
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

NOW = datetime(2026, 5, 11, 11, 20, tzinfo=UTC)


@dataclass
class Reply:
    """One answer. A body that is no text is sent as JSON; `drip_s` waits before each byte of it."""

    body: Any = ""
    status: int = 200
    headers: dict[str, str] = field(default_factory=dict)
    wait_s: float = 0.0
    drip_s: float = 0.0
    claims: int | None = None  # a length that is not the body's

    @property
    def sent(self) -> bytes:
        return (self.body if isinstance(self.body, str) else json.dumps(self.body)).encode()


class WeatherService:
    """Answers each path with its replies in turn, the last one again and again; keeps what it was asked."""

    def __init__(self) -> None:
        self.asked: list[tuple[str, dict[str, str]]] = []
        self._replies: dict[str, list[Reply]] = {}
        service = self

        class Answers(BaseHTTPRequestHandler):
            def do_GET(self) -> None:
                service.asked.append(
                    (self.path, {name.lower(): value for name, value in self.headers.items()})
                )
                send(self, service.reply(self.path))

            def log_message(self, *_: Any) -> None:
                """Nothing: tests read what was asked from the list."""

        self._server = ThreadingHTTPServer(("127.0.0.1", 0), Answers)
        self._server.daemon_threads = True
        self._thread = threading.Thread(target=self._server.serve_forever, args=(0.01,), daemon=True)
        self._thread.start()

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self._server.server_port}"

    @property
    def paths(self) -> list[str]:
        return [path for path, _ in self.asked]

    def answers(self, path: str, *replies: Reply) -> None:
        self._replies[path] = list(replies)

    def reply(self, path: str) -> Reply:
        replies = self._replies.get(path) or self._replies.get(path.partition("?")[0]) or [Reply("", 404)]
        return replies.pop(0) if len(replies) > 1 else replies[0]

    def stop(self) -> None:
        self._server.shutdown()
        self._thread.join()
        self._server.server_close()


def send(handler: BaseHTTPRequestHandler, reply: Reply) -> None:
    try:
        time.sleep(reply.wait_s)
        handler.send_response(reply.status)
        for name, value in reply.headers.items():
            handler.send_header(name, value)
        handler.send_header("Content-Length", str(len(reply.sent) if reply.claims is None else reply.claims))
        handler.end_headers()
        pieces = [reply.sent] if not reply.drip_s else [bytes([byte]) for byte in reply.sent]
        for piece in pieces:
            time.sleep(reply.drip_s)
            handler.wfile.write(piece)
    except OSError:
        """Whoever asked has hung up, which is what some tests are about."""


# --- documents, made up -----------------------------------------------------------------------


def points(base_url: str, **changed: Any) -> dict[str, Any]:
    told = {
        "forecastHourly": f"{base_url}/gridpoints/ABC/1,2/forecast/hourly",
        "forecastGridData": f"{base_url}/gridpoints/ABC/1,2",
    }
    return {"properties": {**told, **changed}}


def layer(unit: str, value: Callable[[int], Any], start: datetime, hours: int) -> dict[str, Any]:
    values = [
        {"validTime": f"{(start + timedelta(hours=n)).isoformat()}/PT1H", "value": value(n)}
        for n in range(hours)
    ]
    return {"uom": f"wmoUnit:{unit}", "values": values}


def grid(
    now: datetime = NOW, *, air_c: float = 20.0, hours: int = 96, made_h: float = 1.0, **layers: Any
) -> dict[str, Any]:
    start = now.replace(minute=0, second=0, microsecond=0) - timedelta(hours=12)

    def flat(unit: str, value: Any) -> dict[str, Any]:
        return layer(unit, lambda n: value, start, hours)

    return {
        "properties": {
            "updateTime": (now - timedelta(hours=made_h)).isoformat(),
            "temperature": flat("degC", air_c),
            "relativeHumidity": flat("percent", 50),
            "windSpeed": flat("km_h-1", 10.8),
            "skyCover": flat("percent", 50),
            "probabilityOfPrecipitation": flat("percent", 0),
            "quantitativePrecipitation": flat("mm", 0),
            "probabilityOfThunder": flat("percent", 0),
            **layers,
        }
    }


def hourly(
    now: datetime = NOW, *, air_f: int = 68, hours: int = 96, made_h: float = 1.0, **changed: Any
) -> dict[str, Any]:
    start = now.replace(minute=0, second=0, microsecond=0)
    periods = [
        {
            "startTime": (start + timedelta(hours=n)).isoformat(),
            "endTime": (start + timedelta(hours=n + 1)).isoformat(),
            "temperature": air_f,
            "temperatureUnit": "F",
            "windSpeed": "5 to 10 mph",
            "relativeHumidity": {"unitCode": "wmoUnit:percent", "value": 50},
            "probabilityOfPrecipitation": {"unitCode": "wmoUnit:percent", "value": 0},
            **changed,
        }
        for n in range(hours)
    ]
    return {"properties": {"updateTime": (now - timedelta(hours=made_h)).isoformat(), "periods": periods}}


def columns(now: datetime = NOW, *, hours: int = 96, **changed: Any) -> dict[str, Any]:
    """Arrays of hourly values as the open-data service gives them, on GMT."""
    start = now.replace(minute=0, second=0, microsecond=0) - timedelta(hours=12)
    told: dict[str, tuple[str, Any]] = {
        "temperature_2m": ("°C", 20.0),
        "relative_humidity_2m": ("%", 50),
        "wind_speed_10m": ("km/h", 10.8),
        "precipitation": ("mm", 0.0),
        **changed,
    }
    times = [f"{start + timedelta(hours=n):%Y-%m-%dT%H:%M}" for n in range(hours)]
    return {
        "utc_offset_seconds": 0,
        "hourly_units": {"time": "iso8601", **{name: unit for name, (unit, _) in told.items()}},
        "hourly": {"time": times, **{name: [value] * hours for name, (_, value) in told.items()}},
    }

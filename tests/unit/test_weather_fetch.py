"""The forecast's server: one on loopback that answers, hangs, lies, sends on, or sends a page."""

from __future__ import annotations

import json
import threading
import time
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from urllib.parse import parse_qs, urlsplit

import pytest

from farms import farm
from leyfold.farm.tables import figure, table
from leyfold.nouns.farm import Farm
from leyfold.nouns.weather import Source
from leyfold.weather import fetch as fetching
from leyfold.weather.fetch import _NotAnswered, fetch, forecast

CLIMATE = {name: figure(f"climate.{name}") for name in table("climate")}
NOW = datetime(2027, 5, 12, 16, tzinfo=UTC)
ASKED: list[str] = []


def answer(temperature: float = 9.0) -> str:
    times = [(NOW + timedelta(hours=h)).strftime("%Y-%m-%dT%H:%M") for h in range(48)]
    return json.dumps({"hourly": {"time": times, "temperature_2m": [temperature] * 48}})


class Server(BaseHTTPRequestHandler):
    def do_GET(self) -> None:
        ASKED.append(self.path)
        match urlsplit(self.path).path:
            case "/good":
                self._send(200, answer().encode())
            case "/html":
                self._send(200, b"<html>hello</html>")
            case "/moved":
                self.send_response(302)
                self.send_header("Location", "/good")
                self.end_headers()
            case "/large":
                self._send(200, b" " * 300_000)
            case "/latin":
                self._send(200, b'{"hourly": "\xff\xfe"}')
            case "/hang":
                time.sleep(1.5)
            case "/drip":
                self.send_response(200)
                self.end_headers()
                for _ in range(30):
                    self.wfile.write(b" ")
                    self.wfile.flush()
                    time.sleep(0.05)
            case "/cut":
                self.send_response(200)
                self.send_header("Content-Length", "5000")
                self.end_headers()
                self.wfile.write(b'{"hourly":')
            case "/lies":
                self._send(200, answer(temperature=48.0).encode())
            case _:
                self._send(503, b"no")

    def _send(self, status: int, body: bytes) -> None:
        self.send_response(status)
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *_: object) -> None:
        """Quiet."""


@pytest.fixture(scope="module")
def base() -> Iterator[str]:
    server = ThreadingHTTPServer(("127.0.0.1", 0), Server)
    server.daemon_threads = True
    server.handle_error = lambda *_: None  # type: ignore[method-assign]
    threading.Thread(target=server.serve_forever, daemon=True).start()
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("no_proxy", "127.0.0.1")
        yield f"http://127.0.0.1:{server.server_port}"
    server.shutdown()
    server.server_close()


def with_url(url: str | None) -> Farm:
    return replace(farm(), weather=Source(forecast_url=url, climate=CLIMATE))


def test_without_an_address_nothing_is_asked(tmp_path: Path) -> None:
    def never(_: str) -> str:
        raise AssertionError

    assert forecast(with_url(None), tmp_path / "h", NOW, ask=never) == (None, ())


def test_a_good_answer_is_kept_and_serves_for_an_hour(base: str, tmp_path: Path) -> None:
    made = with_url(f"{base}/good")
    ASKED.clear()
    first, notes = forecast(made, tmp_path / "h", NOW)
    again, _ = forecast(made, tmp_path / "h", NOW + timedelta(minutes=50))
    assert first is not None
    assert again is not None
    assert notes == ()
    assert len(ASKED) == 1
    assert again.issued == NOW
    asked = parse_qs(urlsplit(ASKED[0]).query)
    assert asked["latitude"] == ["57.00"]
    assert "temperature_2m" in asked["hourly"][0].split(",")
    assert asked["timezone"] == ["GMT"]


@pytest.mark.parametrize(
    ("path", "words"),
    [
        ("html", "web page"), ("moved", "sends on"), ("latin", "no text"), ("cut", "cut short"),
        ("gone", "error 503"), ("lies", "Fahrenheit"),
    ],
)  # fmt: skip
def test_what_goes_wrong_is_said_and_the_last_good_one_serves_with_its_age(
    base: str, tmp_path: Path, path: str, words: str
) -> None:
    none, notes = forecast(with_url(f"{base}/{path}"), tmp_path / "none", NOW)
    assert none is None
    assert words in notes[0]
    hidden = tmp_path / "h"
    made = with_url(f"{base}/{path}")
    good, _ = forecast(made, hidden, NOW, ask=lambda _: answer())
    later, notes = forecast(made, hidden, NOW + timedelta(hours=5))
    assert good is not None
    assert later is not None
    assert later.issued == NOW
    assert words in notes[0]
    assert "5 hours" in notes[1]
    old, notes = forecast(made, hidden, NOW + timedelta(days=4))
    assert old is None
    assert "three days" in notes[1]


@pytest.mark.parametrize("path", ["hang", "drip"])
def test_a_server_that_hangs_or_drips_is_left(base: str, path: str) -> None:
    # Whoever waited to the end would have an answer: both come to one after a second and a half.
    with pytest.raises(_NotAnswered, match="did not answer"):
        fetch(f"{base}/{path}", wait_s=0.3)


def test_no_more_is_read_than_allowed(base: str) -> None:
    with pytest.raises(_NotAnswered, match="larger than"):
        fetch(f"{base}/large", most_bytes=100_000)


def test_nobody_there() -> None:
    with pytest.raises(_NotAnswered, match="cannot be reached"):
        fetch("http://127.0.0.1:9/", wait_s=2.0)
    with pytest.raises(_NotAnswered, match="begin with"):
        fetch("file:///etc/passwd")


@pytest.mark.parametrize("broken", ["", "{", "[]", '{"at": "noon", "url": 1}', "null"])
def test_a_damaged_copy_is_no_copy(tmp_path: Path, broken: str) -> None:
    hidden = tmp_path / "h"
    hidden.mkdir()
    (hidden / fetching.CACHE).write_text(broken, encoding="utf-8")
    got, _ = forecast(with_url("http://127.0.0.1:9/"), hidden, NOW, online=False)
    assert got is None


def test_a_copy_from_another_address_is_not_used(tmp_path: Path) -> None:
    hidden = tmp_path / "h"
    forecast(with_url("http://127.0.0.1:9/a"), hidden, NOW, ask=lambda _: answer())
    got, _ = forecast(with_url("http://127.0.0.1:9/b"), hidden, NOW, online=False)
    assert got is None

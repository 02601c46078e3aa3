"""The one place that asks the network for something: a forecast, from the address in the farm file.

It never follows a redirection, reads no more than `MOST_BYTES`, and gives up after `WAIT_S` whatever the
server does. The last good answer is kept in the farm's hidden folder with the time it came.
"""

from __future__ import annotations

import json
import threading
import urllib.error
import urllib.request
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from leyfold.nouns.errors import BadInput
from leyfold.nouns.farm import Farm
from leyfold.nouns.weather import Weather
from leyfold.weather.forecast import address, read_forecast
from leyfold.words import say
from leyfold.words.forms import number

__all__ = ["forecast"]

WAIT_S = 12.0
MOST_BYTES = 2_000_000
FRESH = timedelta(hours=1)
KEPT = timedelta(days=3)
"""An older forecast says less than the month's mean."""
CACHE = "forecast.json"


class _NotAnswered(Exception):
    """Why no text came, in words."""


@dataclass(frozen=True, slots=True)
class _Kept:
    at: datetime
    text: str


def forecast(
    farm: Farm, folder: Path, now: datetime, *, online: bool = True, ask: Callable[[str], str] | None = None
) -> tuple[Weather | None, tuple[str, ...]]:
    """The forecast for the farm, and what is to be said of it; nothing where the farm names no address.

    An answer under an hour old is not asked for again, nor anything where not `online`. Where none can be
    had, the last good one serves for three days with its age said; a bad answer is never kept. Never raises
    for what the network does.
    """
    url = address(farm)
    if url is None:
        return None, ()
    path = folder / CACHE
    kept = _kept(path, url)
    if online and (kept is None or not timedelta(0) <= now - kept.at < FRESH):
        try:
            text = (ask or fetch)(url)
            weather = read_forecast(farm, text)
        except _NotAnswered as error:
            return _last_good(farm, kept, now, str(error))
        except BadInput as error:
            return _last_good(farm, kept, now, error.faults[0].wrong)
        _keep(path, url, now, text)
        return _issued(weather, now), ()
    return _last_good(farm, kept, now, None)


def _last_good(
    farm: Farm, kept: _Kept | None, now: datetime, why: str | None
) -> tuple[Weather | None, tuple[str, ...]]:
    notes = () if why is None else (say("weather.note_no_forecast", why=why),)
    if kept is None:
        return None, notes
    if not timedelta(0) <= now - kept.at <= KEPT:
        return None, (*notes, say("weather.note_too_old"))
    try:
        weather = read_forecast(farm, kept.text)
    except BadInput:
        return None, (*notes, say("weather.note_cache_broken"))
    if why is not None:
        hours = (now - kept.at).total_seconds() / 3600
        notes = (*notes, say("weather.note_last_good", hours=number(hours, 0, farm.holding.language)))
    return _issued(weather, kept.at), notes


def _issued(weather: Weather, at: datetime) -> Weather:
    return Weather(weather.first_hour, weather.values, weather.origins, weather.notes, at)


def _kept(path: Path, url: str) -> _Kept | None:
    try:
        said = json.loads(path.read_text(encoding="utf-8"))
        at = datetime.fromisoformat(said["at"])
        if said["url"] != url or at.tzinfo is None or not isinstance(said["text"], str):
            return None
        return _Kept(at, said["text"])
    except (OSError, ValueError, TypeError, KeyError):
        return None


def _keep(path: Path, url: str, now: datetime, text: str) -> None:
    """Whole or not at all; a folder that cannot be written costs the copy, not the answer."""
    half = path.with_suffix(".half")
    try:
        path.parent.mkdir(exist_ok=True)
        half.write_text(json.dumps({"at": now.isoformat(), "url": url, "text": text}), encoding="utf-8")
        half.replace(path)
    except OSError:
        half.unlink(missing_ok=True)


class _Stay(urllib.request.HTTPRedirectHandler):
    def redirect_request(self, *asked: Any) -> None:
        _, body, *_, to = asked
        body.close()
        raise _NotAnswered(say("weather.fetch_redirected", to=str(to)[:200]))


def fetch(url: str, *, wait_s: float = WAIT_S, most_bytes: int = MOST_BYTES) -> str:
    """The text behind `url`, or _NotAnswered with the reason. A server that drips is left after `wait_s`."""
    if not url.startswith(("http://", "https://")):
        raise _NotAnswered(say("weather.fetch_scheme"))
    got: list[str | _NotAnswered] = []
    asking = threading.Thread(target=lambda: got.append(_asked(url, wait_s, most_bytes)), daemon=True)
    asking.start()
    asking.join(wait_s)
    answer = got[0] if got else _NotAnswered(say("weather.fetch_slow", seconds=f"{wait_s:.0f}"))
    if isinstance(answer, _NotAnswered):
        raise answer
    return answer


def _asked(url: str, wait_s: float, most_bytes: int) -> str | _NotAnswered:
    opener = urllib.request.build_opener(_Stay)
    try:
        request = urllib.request.Request(url, headers={"Accept": "application/json", "User-Agent": "leyfold"})
        with opener.open(request, timeout=wait_s) as answer:
            data = answer.read(most_bytes + 1)
    except _NotAnswered as error:
        return error
    except urllib.error.HTTPError as error:
        error.close()
        return _NotAnswered(say("weather.fetch_status", status=error.code))
    except TimeoutError:
        return _NotAnswered(say("weather.fetch_slow", seconds=f"{wait_s:.0f}"))
    except Exception as error:  # what sockets, TLS and a lying server can raise has no common parent
        reason = getattr(error, "reason", None)
        if isinstance(reason, TimeoutError):
            return _NotAnswered(say("weather.fetch_slow", seconds=f"{wait_s:.0f}"))
        return _NotAnswered(
            say("weather.fetch_failed", why=str(reason or error)[:120] or type(error).__name__)
        )
    if len(data) > most_bytes:
        return _NotAnswered(say("weather.fetch_large", most=f"{most_bytes / 1e6:.0f}"))
    try:
        return str(data.decode("utf-8"))
    except UnicodeDecodeError:
        return _NotAnswered(say("weather.fetch_not_text"))

"""The real server, killed while devices send to it."""

from __future__ import annotations

import json
import os
import random
import shutil
import signal
import subprocess
import sys
import threading
import time
from contextlib import suppress
from dataclasses import replace
from http.client import HTTPException
from pathlib import Path
from urllib.request import ProxyHandler, Request, build_opener

from hardships import season
from leyfold.nouns.record import Record
from leyfold.store.lock import Serving, serving
from leyfold.store.wire import body_of
from logs import ulid

__all__ = ["killed_server"]

DEMO = Path(__file__).resolve().parents[1] / "examples" / "demo"
_STARTED_S, _ANSWER_S = 120.0, 20.0


def killed_server(folder: Path, times: int, seed: int, devices: int = 3) -> tuple[set[str], set[str], Path]:
    """Kill -9 `leyfold serve` so many times while devices send to it, each its own records, again until it
    hears that they came in. Returns the ids acknowledged, those ever sent, and the farm's folder."""
    rng = random.Random(seed)
    farm = folder / "farm"
    shutil.copytree(DEMO, farm, ignore=shutil.ignore_patterns("records*", ".leyfold", "backups"))
    senders = [_Sender(farm, number, seed) for number in range(devices)]
    for sender in senders:
        sender.start()
    try:
        for _ in range(times):
            with _serve(farm) as server:
                before = sum(len(sender.acknowledged) for sender in senders)
                until = time.monotonic() + _STARTED_S
                more = rng.choice([1, 10, 60])
                while sum(len(s.acknowledged) for s in senders) < before + more:
                    if time.monotonic() > until:
                        raise TimeoutError("the server takes nothing")
                    time.sleep(0.001)
                time.sleep(rng.random() * 0.02)
                server.send_signal(signal.SIGKILL)
    finally:
        for sender in senders:
            sender.ended.set()
            sender.join()
    return (set().union(*(s.acknowledged for s in senders)), set().union(*(s.sent for s in senders)), farm)


def _serve(farm: Path) -> subprocess.Popen[bytes]:
    command = [sys.executable, "-m", "leyfold", "serve", str(farm), "--port", "0", "--no-open-browser"]
    return subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)


class _Sender(threading.Thread):
    """One device: sends a few records at a time, and again until it hears that they came in."""

    def __init__(self, farm: Path, number: int, seed: int) -> None:
        super().__init__(daemon=True)
        self.farm, self.device = farm, f"phone {number}"
        self.rng = random.Random(seed * 31 + number)
        facts = [record for part in range(40) for record in season(seed + part)]
        self.unsent = [
            replace(fact, id=ulid(10_000_000 * (number + 1) + n), kind="note", data={"text": f"{n}"})
            for n, fact in enumerate(facts)
        ]
        self.acknowledged: set[str] = set()
        self.sent: set[str] = set()
        self.ended = threading.Event()
        self.open = build_opener(ProxyHandler({})).open

    def run(self) -> None:
        while not self.ended.is_set() and self.unsent:
            there = serving(self.farm)
            some = self.unsent[: self.rng.choice([1, 3, 20])]
            taken = self._post(there, some) if there and _lives(there.pid) else set()
            self.acknowledged |= taken
            self.unsent = [record for record in self.unsent if record.id not in taken]
            if not taken:
                time.sleep(0.02)

    def _post(self, there: Serving, some: list[Record]) -> set[str]:
        self.sent |= {record.id for record in some}
        headers = {"Authorization": f"Bearer {there.token}", "Content-Type": "application/json"}
        request = Request(f"{there.address}/api/sync", body_of(tuple(some), self.device), headers)
        with suppress(HTTPException, OSError, ValueError):  # also an answer cut off by the kill
            with self.open(request, timeout=_ANSWER_S) as answer:
                page = json.loads(answer.read())
            return {*page["accepted"], *page["duplicates"]}
        return set()


def _lives(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except OSError:
        return False
    return True

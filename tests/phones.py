"""A real server process, and phones (Chromium at a phone's size) that are signed in to it."""

from __future__ import annotations

import json
import os
import re
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, BrowserContext, Page

__all__ = ["ARGS", "AT", "PHONE", "Server", "chromium", "shown", "signed_in"]

ROOT = Path(__file__).resolve().parents[1]
DEMO = ROOT / "examples" / "demo"
AT = "2027-05-08T06:10"
"""A morning of the demo farm with chicks under heat, birds in shelters and hens in the house."""
PHONE: dict[str, Any] = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}
ARGS = ["--disable-quic", "--disable-sync", "--host-resolver-rules=MAP farm.test 127.0.0.1"]
"""What Chromium is started with: nothing of its own on the wire, and a name for what is no local host."""
LINK = re.compile(r"https?://\S+/in/\S+")


def chromium() -> str:
    found = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
    assert found, "No Chromium: install it, or name one by CHROMIUM=/path/to/chromium"
    return found


def open_books(folder: Path, at: str) -> None:
    """What stands on the farm by its plan, as the first records of its book."""
    from leyfold.cli.answer import when
    from leyfold.log.lines import write
    from leyfold.services.round import opening

    (folder / "records.jsonl").write_text(write(opening(folder, when(at, folder))), encoding="utf-8")


class Server:
    """`leyfold serve` on a copy of the demo farm, as a process of its own that can be stopped and started."""

    def __init__(self, folder: Path, *, at: str | None = AT) -> None:
        if not folder.exists():
            shutil.copytree(DEMO, folder)
            if at:
                open_books(folder, at)
        self.folder, self.at, self.port = folder, at, 0
        self.base = self.link = ""
        self._process: subprocess.Popen[str] | None = None

    def start(self, at: str | None = None) -> Server:
        """Serve at the same address as before; `at` sets the practice clock anew."""
        command = [sys.executable, "-m", "leyfold", "serve", str(self.folder), "--no-open-browser"]
        command += ["--port", str(self.port)]
        when = at or self.at
        command += ["--at", when] if when else []
        self._process = subprocess.Popen(
            command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, stdin=subprocess.DEVNULL
        )
        said = []
        for line in self._process.stdout or ():
            said.append(line)
            if found := LINK.search(line):
                self.link = found[0]
                self.base = self.link.partition("/in/")[0] + "/"
                self.port = int(self.base.rstrip("/").rpartition(":")[2])
                return self
        raise AssertionError("the server did not start: " + "".join(said))

    def stop(self, how: signal.Signals = signal.SIGTERM) -> None:
        assert self._process
        self._process.send_signal(how)
        self._process.communicate(timeout=20)

    def end(self) -> None:
        """Stop it where it still runs."""
        if self._process and self._process.poll() is None:
            self.stop()

    def lines(self) -> list[dict[str, Any]]:
        """Every record that was put in the farm's book, whether or not the server runs."""
        from leyfold.log.lines import write
        from leyfold.store.records import read_records

        return [json.loads(line) for line in write(read_records(self.folder)[0]).splitlines()]


@contextmanager
def shown(context: BrowserContext, allowed: Callable[[str], bool] = lambda _: False) -> Iterator[Page]:
    """A page that must not complain, except of what is `allowed`."""
    page = context.new_page()
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text) if message.type == "error" else None)
    page.on("pageerror", lambda error: said.append(str(error)))
    yield page
    # A request that fails because the server is away is what these tests are about.
    lost = ("Failed to load resource", "net::ERR")
    assert [one for one in said if not allowed(one) and not any(word in one for word in lost)] == []


def signed_in(browser: Browser, server: Server, **face: Any) -> BrowserContext:
    """A phone of the farmer's, come in by the link that the server printed."""
    context = browser.new_context(**(PHONE | face))
    page = context.new_page()
    page.goto(server.link)
    page.locator("[data-call]").first.wait_for(timeout=60_000)
    # The first visit is not yet the service worker's: the next one is.
    page.evaluate("navigator.serviceWorker && navigator.serviceWorker.ready.then(() => true)")
    page.close()
    return context

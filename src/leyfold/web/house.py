"""What one server holds: the farm kept open, its book, who may come in, and the answers already made."""

from __future__ import annotations

import asyncio
import gc
import hmac
import logging
import sys
from collections.abc import AsyncIterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import asynccontextmanager, suppress
from datetime import date, datetime
from pathlib import Path

from starlette.requests import Request

from leyfold.nouns.clock import civil
from leyfold.nouns.errors import BadInput
from leyfold.nouns.farm import Person
from leyfold.services.live import Live
from leyfold.services.people import Doorkeeper, people_of
from leyfold.store.people import People
from leyfold.store.records import Store
from leyfold.web.clock import Clock
from leyfold.web.made import Kept, Made
from leyfold.web.week import DAYS, Week, make_week

__all__ = ["House"]

_QUIET_S = 1.0
"""While somebody taps one thing after the other the week is not made anew each time."""
SOON = (1, 2)
"""Days made at once, as many as are asked for, for whoever has just written something down."""
_TURN_S = 0.001
"""So soon a thread that works something out gives way to one that answers."""
LOG = logging.getLogger("leyfold.web")
_LOOK_S = 20.0
"""How often it is looked whether the rounds must be made again when nobody has asked."""


class House:
    """One farm being served. `token` opens the operations of `rights.BY_TOKEN` to this machine's commands;
    `ahead`: the rounds are made before anybody asks."""

    def __init__(self, folder: Path, store: Store, clock: Clock, *, ahead: bool = True) -> None:
        self.folder, self.store, self.clock, self._ahead = folder, store, clock, ahead
        self.token = ""
        self.live = Live(folder, store)
        self.doors = Doorkeeper(People(store))
        self.book = store.book
        self.link_base = ""
        """Where phones find this server, for invitations; empty: where the farmer does."""
        self._worker = ThreadPoolExecutor(1, "rounds")
        self._weeks: Kept[Week] = Kept(self._worker, most=3)
        self._at_once = ThreadPoolExecutor(1, "today")
        self._todays: Kept[Week] = Kept(self._at_once, most=2 * len(SOON))
        self.pages: Kept[Made] = Kept(ThreadPoolExecutor(2, "pages"), most=8)
        self._changed = asyncio.Event()
        self._loop: asyncio.AbstractEventLoop | None = None

    def farmer(self) -> Person:
        """The first farmer of the farm file."""
        people = people_of(self.live.farm()).values()
        return next((p for p in people if p.role == "farmer"), Person("farmer", "", "farmer"))

    def is_token(self, authorization: str) -> bool:
        """Whether a header shows the token of the lock."""
        given = authorization.removeprefix("Bearer ").encode()
        return bool(self.token) and hmac.compare_digest(given, self.token.encode())

    def today(self) -> date:
        return civil(self.clock.now(), self.live.farm().holding.zone)

    # rounds, made ahead

    async def week(self, days: int = DAYS) -> Week:
        """The rounds of at least so many days from today on, with every record that was in the book when this
        was asked. Those of today and tomorrow do not wait for the week."""
        now = self.clock.now()
        made = next((soon for soon in SOON if days <= soon), DAYS)
        if made not in SOON:
            # Made anyhow, and what a week has in common with its first day is made once.
            await self.week(min(SOON))
        kept = self._todays if made in SOON else self._weeks
        return await kept.get((made, *self._week_of(now)), lambda: make_week(self.live, now, made))

    def changed(self) -> None:
        """To be called when records have come in: the rounds are made again before somebody asks."""
        if self._loop is not None:
            self._loop.call_soon_threadsafe(self._changed.set)

    def _week_of(self, now: datetime) -> tuple[object, ...]:
        return (self.live.mark(), now.replace(minute=0, second=0, microsecond=0))

    async def _make_ahead(self) -> None:
        settled = False
        while True:
            try:
                await self.week(min(SOON))
                while await self._more_comes():
                    await self.week(min(SOON))
                await self.week(max(SOON))
                await self.week()
                if not settled:
                    # A book of many years is in memory now: the collector need not go through it ever again,
                    # which would hold up whoever asks meanwhile.
                    gc.freeze()
                    settled = True
            except BadInput:
                pass  # whoever asks is told
            except Exception:
                LOG.exception("the rounds could not be made ahead")
            with suppress(TimeoutError):
                await asyncio.wait_for(self._changed.wait(), _LOOK_S)
            self._changed.clear()

    async def _more_comes(self) -> bool:
        """Whether records come in before it has been quiet for a little while."""
        self._changed.clear()
        with suppress(TimeoutError):
            await asyncio.wait_for(self._changed.wait(), _QUIET_S)
        return self._changed.is_set()

    @asynccontextmanager
    async def running(self) -> AsyncIterator[None]:
        """While the server runs."""
        self._loop = asyncio.get_running_loop()
        turn = sys.getswitchinterval()
        sys.setswitchinterval(_TURN_S)
        tasks = [asyncio.create_task(self._make_ahead())] if self._ahead else []
        try:
            yield
        finally:
            for task in tasks:
                task.cancel()
            self._loop = None
            sys.setswitchinterval(turn)
            for worker in (self._worker, self._at_once):
                worker.shutdown(wait=False, cancel_futures=True)

    # what happened at the door

    def note(self, what: str, request: Request, **about: object) -> None:
        """A line for the log: who came in, who was refused. Never a token, passphrase or record."""
        address = request.client.host if request.client else "-"
        said = " ".join(f"{name}={str(value)[:80]!r}" for name, value in about.items())
        LOG.info("%s from=%s %s", what, address, said)

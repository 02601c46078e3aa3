"""HTTP/1.1 with limits on what a connection may do before there is a request to judge."""

from __future__ import annotations

import asyncio
import json
from typing import Any

from uvicorn.protocols.http.h11_impl import H11Protocol

from leyfold.web import refusals

__all__ = ["HEADERS_S", "MOST_CONNECTIONS", "Patience"]

HEADERS_S = 10.0
"""A connection that has not said what it wants by then is closed."""
MOST_CONNECTIONS = 1024


class Patience(H11Protocol):
    """uvicorn's protocol, which waits for the head of a request for ever, with an end to that."""

    headers_s = HEADERS_S
    _late: asyncio.TimerHandle | None = None

    def connection_made(self, transport: Any) -> None:
        super().connection_made(transport)
        if len(self.connections) > MOST_CONNECTIONS:
            transport.abort()
            return
        self._wait()

    def data_received(self, data: bytes) -> None:
        super().data_received(data)
        if not self._is_idle():
            self._stop()
        elif self._late is None:
            self._wait()

    def connection_lost(self, exc: Exception | None) -> None:
        self._stop()
        super().connection_lost(exc)

    def send_400_response(self, msg: str) -> None:  # noqa: ARG002
        """What is no HTTP is refused in the shape of all refusals."""
        body = json.dumps(refusals.page("not_understood"))
        head = f"content-type: application/json\r\ncontent-length: {len(body)}\r\nconnection: close\r\n\r\n"
        self.transport.write(f"HTTP/1.1 400 Bad Request\r\n{head}{body}".encode())
        self.transport.close()

    def _is_idle(self) -> bool:
        return self.cycle is None or bool(self.cycle.response_complete)

    def _wait(self) -> None:
        self._late = self.loop.call_later(self.headers_s, self._give_up)

    def _stop(self) -> None:
        if self._late is not None:
            self._late.cancel()
            self._late = None

    def _give_up(self) -> None:
        self._late = None
        if self._is_idle():
            self.transport.close()

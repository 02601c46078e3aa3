"""A farm really served: its files in a folder of its own, uvicorn on a port, a client that signs in."""

from __future__ import annotations

import json
import shutil
import socket
import threading
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import httpx
from ulid import ULID

from leyfold.store.records import open_store
from leyfold.web.app import make_app
from leyfold.web.clock import Clock
from leyfold.web.house import House
from leyfold.web.run import server_of

DEMO = Path(__file__).resolve().parents[1] / "examples" / "demo"
AT = datetime(2027, 4, 12, 5, 30, tzinfo=UTC)
"""A morning in the demo farm's spring."""
PEOPLE = """
[people.iben]
name = "Iben"
role = "looker-on"
"""


class Farm:
    """A served farm. `as_(person)` is a client signed in as one of its people."""

    def __init__(self, house: House, address: str) -> None:
        self.house, self.address = house, address
        self.folder = house.folder
        self._open: list[httpx.Client] = []

    def client(self, **headers: str) -> httpx.Client:
        """Somebody who is not signed in."""
        made = httpx.Client(base_url=self.address, headers=headers, timeout=60, trust_env=False)
        self._open.append(made)
        return made

    def as_(self, person: str, **headers: str) -> httpx.Client:
        client = self.client(**headers)
        token = self.house.doors.invite(person, self.house.clock.machine_s())
        answer = client.post(f"/api/invitations/{token}/accept", json={})
        assert answer.status_code == 200, answer.text
        client.headers["X-Leyfold"] = client.get("/api/me").json()["csrf"]
        return client

    def close(self) -> None:
        for client in self._open:
            client.close()


def copy_of_demo(folder: Path) -> Path:
    """The demo farm with a looker-on besides."""
    shutil.copytree(DEMO, folder)
    file = folder / "farm.toml"
    text = file.read_text(encoding="utf-8")
    if "looker-on" not in text:
        file.write_text(text + PEOPLE, encoding="utf-8")
    return folder


@contextmanager
def served(
    folder: Path, at: datetime | None = AT, *, token: str = "", body_s: float = 20.0, ahead: bool = False
) -> Iterator[Farm]:
    store = open_store(folder)
    house = House(folder, store, Clock(at), ahead=ahead)
    house.token = token
    line = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    line.bind(("127.0.0.1", 0))
    line.listen(1024)
    server = server_of(make_app(house, body_s=body_s))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [line]})
    thread.start()
    try:
        while not server.started:
            time.sleep(0.01)
            assert thread.is_alive()
        farm = Farm(house, f"http://127.0.0.1:{line.getsockname()[1]}")
        yield farm
        farm.close()
    finally:
        server.should_exit = True
        thread.join()
        line.close()
        store.close()


def record(kind: str, who: str = "runa", at: datetime = AT, /, **data: Any) -> dict[str, Any]:
    """A record as a phone would send it."""
    stamp = at.isoformat()
    return {
        "id": str(ULID()),
        "device": "phone",
        "who": who,
        "at": stamp,
        "entered": stamp,
        "kind": kind,
        "data": data,
    }


def sent(client: httpx.Client, *records: Mapping[str, Any], device: str = "phone") -> dict[str, Any]:
    answer = client.post("/api/sync", json={"device": device, "records": list(records)})
    assert answer.status_code == 200, answer.text
    page: dict[str, Any] = answer.json()
    return page


def error(answer: httpx.Response) -> tuple[int, str]:
    """Status and code of a refusal; its shape is looked at too."""
    page = json.loads(answer.content)
    assert page.keys() == {"error"}
    assert page["error"].keys() == {"code", "message", "faults"}
    assert page["error"]["message"]
    for fault in page["error"]["faults"]:
        assert fault.keys() == {"where", "field", "wrong", "mend"}
    return answer.status_code, page["error"]["code"]

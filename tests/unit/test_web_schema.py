"""The API as it is described, and every operation asked with what its description allows and does not."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
import schemathesis
from hypothesis import HealthCheck, settings

from leyfold.web.app import openapi
from web import Farm, copy_of_demo, error, served

PAGE = Path(__file__).parents[2] / "docs" / "openapi.json"
schema = schemathesis.openapi.from_dict(openapi()).exclude(path="/api/replan")
"""A season for every question is too much; what the re-plan is asked has tests of its own."""


@pytest.fixture(scope="module")
def farm(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Farm]:
    with served(copy_of_demo(tmp_path_factory.mktemp("schema") / "farm")) as farm:
        yield farm


@pytest.fixture(scope="module")
def signed_in(farm: Farm) -> list[httpx.Client]:
    """One an operation: some end their session, and guesses at invitations are slowed down."""
    return [farm.as_("runa") for _ in range(24)]


@pytest.fixture
def runa(signed_in: list[httpx.Client]) -> httpx.Client:
    return signed_in.pop()


def test_the_description_is_that_of_the_server() -> None:
    assert json.loads(PAGE.read_text(encoding="utf-8")) == openapi(), "tools/openapi.py writes it anew"


def test_every_operation_has_a_name_and_every_refusal_its_shape() -> None:
    for path, methods in openapi()["paths"].items():
        for method, operation in methods.items():
            assert operation["operationId"], (method, path)
            for status, answer in operation["responses"].items():
                if status.startswith("4"):
                    shape = answer["content"]["application/json"]["schema"]
                    assert shape == {"$ref": "#/components/schemas/Error"}, (method, path, status)


@schema.parametrize()
@settings(max_examples=3, deadline=None, suppress_health_check=list(HealthCheck))
def test_whatever_is_asked_is_answered_or_refused_in_one_shape(
    case: schemathesis.Case, runa: httpx.Client, farm: Farm
) -> None:
    headers = {name: str(value) for name, value in (case.headers or {}).items() if str(value).isascii()}
    answer = _ask(case, farm, dict(runa.headers) | {"Cookie": _cookies(runa)} | headers)
    assert answer.status_code < 500, answer.text
    if answer.status_code >= 400:
        error(answer)


def _ask(case: schemathesis.Case, farm: Farm, headers: dict[str, str]) -> httpx.Response:
    sent = case.as_transport_kwargs(base_url=farm.address)
    sent = {name: sent[name] for name in ("method", "url", "params", "json", "data") if name in sent}
    if "json" not in sent and isinstance(sent.get("data"), bytes):
        sent["content"] = sent.pop("data")
    return httpx.request(**sent, headers=headers, timeout=60, trust_env=False)


def _cookies(client: httpx.Client) -> str:
    return "; ".join(f"{name}={value}" for name, value in client.cookies.items())

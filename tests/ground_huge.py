"""Land files far too large, made in memory: each with the sentence it is refused with."""

from __future__ import annotations

from collections.abc import Callable

__all__ = ["HUGE"]

POLYGON = '{"type":"Polygon","coordinates":[[%s]]}'


def _ring(n: int) -> str:
    return POLYGON % ",".join(["[14.0,56.0]", "[14.001,56.0]"] * (n // 2))


def _points(n: int) -> str:
    tree = '{"type":"Feature","properties":{"kind":"tree"},"geometry":{"type":"Point","coordinates":[14,56]}}'
    return f'{{"type":"FeatureCollection","features":[{",".join([tree] * n)}]}}'


def _scribble(n: int) -> str:
    corners = ((k * 7919 % n / n, k * 104729 % n / n) for k in range(n))
    return POLYGON % ",".join(f"[{14 + x / 1e3},{56 + y / 1e3}]" for x, y in corners)


NAMED = '{"type":"Feature","properties":{"name":"%s"},"geometry":{"type":"Circle"}}'

HUGE: dict[str, tuple[Callable[[], str | bytes], str]] = {
    "a million corners": (lambda: _ring(1_000_000), "too_many_corners"),
    "thirty thousand corners": (lambda: _ring(30_000), "ring_too_long"),
    "corners beyond the bytes": (lambda: _ring(2_000_000), "too_big"),
    "a hundred thousand trees": (lambda: _points(100_000), "too_many_features"),
    "five million brackets": (lambda: "[" * 5_000_000, "too_many_corners"),
    "nested lists": (lambda: "[" * 300_000, "nested"),
    "nested objects": (lambda: '{"a":' * 300_000, "nested"),
    "a billion metres": (lambda: POLYGON % "[0,0],[1e9,0],[1e9,1e9],[0,1e9],[0,0]", "not_degrees"),
    "a scribble": (lambda: _scribble(20_000), "crosses_often"),
    "nothing but blanks": (lambda: b" " * 19_000_000, "nothing"),
    "blanks beyond the bytes": (lambda: b" " * 25_000_000, "too_big"),
    "a number without end": (lambda: POLYGON % f"[14,56],[14.1,{'5' * 1_000_000}],[14,56]", "not_a_number"),
    "a name without end": (lambda: NAMED % ("x" * 10_000_000), "shape"),
    "xml without end": (lambda: "<kml>" + "<a>" * 3_000_000, "not_opened"),
}

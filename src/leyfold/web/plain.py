"""Pages of the server's own that need no script: one style, named in their policy by its hash."""

from __future__ import annotations

from base64 import b64encode
from hashlib import sha256

from starlette.responses import Response

from leyfold.paper.style import STYLE
from leyfold.paper.svg import el, escape
from leyfold.words import LANGUAGE

__all__ = ["plain_page"]

_TOUCHED = "button{font:inherit;min-height:48px;padding:0 1rem;margin:.3rem 0}svg{max-width:100%;height:auto}"
_STYLE = STYLE + _TOUCHED
_HASH = b64encode(sha256(_STYLE.encode()).digest()).decode()
POLICY = (
    f"default-src 'none'; style-src 'sha256-{_HASH}'; form-action 'self'; base-uri 'none';"
    " frame-ancestors 'none'"
)


def plain_page(title: str, *inside: str, status: int = 200) -> Response:
    """A page around what is `inside`: elements, every text in them escaped already."""
    head = (
        '<meta charset="utf-8"/>'
        + el("meta", name="viewport", content="width=device-width, initial-scale=1")
        + el("meta", name="color-scheme", content="light dark")
        + el("title", escape(title))
        + f"<style>{_STYLE}</style>"
    )
    body = el("main", el("h1", escape(title)), *inside)
    page = (
        f'<!doctype html>\n<html lang="{LANGUAGE}">\n<head>{head}</head>\n<body>\n{body}\n</body>\n</html>\n'
    )
    headers = {"Content-Security-Policy": POLICY, "Cache-Control": "no-store"}
    return Response(page, status, headers, "text/html; charset=utf-8")

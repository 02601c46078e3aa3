"""The plain page beside an https server: how a phone comes to trust the farm's own certificate. It gives away
nothing but that certificate. Asked from this machine itself, it is the whole server: a browser trusts its own
machine without one."""

from __future__ import annotations

from collections.abc import Callable

from starlette.requests import Request
from starlette.responses import Response
from starlette.types import ASGIApp, Receive, Scope, Send

from leyfold.paper.svg import el, escape
from leyfold.web.address import is_loopback
from leyfold.web.authority import Certified
from leyfold.web.invitation import qr_svg
from leyfold.web.plain import plain_page
from leyfold.web.refusals import response
from leyfold.words import say

__all__ = ["FILE", "Helper"]

FILE = "leyfold-farm.crt"
ANDROID = ("android_1", "android_2", "android_3", "android_4")
IPHONE = ("iphone_1", "iphone_2", "iphone_3", "iphone_4")
THEN = ("then_1", "then_2", "then_3")


class Helper:
    """`app` is the whole server; `certified` tells the certificate of now, `address` where https answers."""

    def __init__(self, app: ASGIApp, certified: Callable[[], Certified], address: Callable[[], str]) -> None:
        self._app, self._certified, self._address = app, certified, address

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or is_loopback((scope.get("server") or ("", 0))[0]):
            await self._app(scope, receive, send)
            return
        await self._answer(Request(scope))(scope, receive, send)

    def _answer(self, request: Request) -> Response:
        if request.method not in ("GET", "HEAD"):
            return response(405, "method")
        path = request.url.path
        if path == f"/{FILE}":
            headers = {"Content-Disposition": f'attachment; filename="{FILE}"', "Cache-Control": "no-store"}
            return Response(self._certified().authority_der(), 200, headers, "application/x-x509-ca-cert")
        if path != "/":
            return response(404, "nothing_here")
        return self._page(request)

    def _page(self, request: Request) -> Response:
        here = f"{request.url.scheme}://{request.headers.get('host', '')}/"[:200]
        address, seal = self._address(), self._certified().fingerprint()
        return plain_page(
            say("web.helper_title"),
            el("p", escape(say("web.helper_why"))),
            el("p", el("a", escape(say("web.helper_file")), href=f"/{FILE}")),
            el("p", escape(say("web.helper_seal", seal=seal)), class_="soft"),
            _steps("helper_android", ANDROID),
            _steps("helper_iphone", IPHONE),
            _steps("helper_then", THEN, address=address),
            el("p", el("a", escape(address), href=address)),
            el("h2", escape(say("web.helper_other"))),
            qr_svg(here),
        )


def _steps(heading: str, names: tuple[str, ...], **values: str) -> str:
    steps = (el("li", escape(say(f"web.{name}", **values))) for name in names)
    return el("h2", escape(say(f"web.{heading}"))) + el("ol", *steps)

"""The link of an invitation and its QR code."""

import io

from starlette.requests import Request

from leyfold.web.house import House

__all__ = ["link_of", "qr_svg"]


def link_of(request: Request, house: House, token: str) -> str:
    """Where a phone opens the invitation. The token stands behind the `#`, which no server is sent."""
    base = house.link_base or f"{request.url.scheme}://{request.headers['host']}"
    return f"{base.rstrip('/')}/#/join/{token}"


def qr_svg(text: str) -> str:
    """A QR code as an SVG element that can stand in a page."""
    import segno

    out = io.BytesIO()
    code = segno.make(text, error="m", micro=False)
    code.save(out, kind="svg", xmldecl=False, svgns=True, scale=6, border=4, dark="#000", light="#fff")
    return out.getvalue().decode()

"""What a browser calls itself, in a word that its owner knows again."""

from starlette.requests import Request

from leyfold.words import say

__all__ = ["browser_name"]

_SIGNS = ("iPhone", "iPad", "Android", "Windows", "Macintosh", "CrOS", "Linux")


def browser_name(request: Request) -> str:
    """ "Android", "iPhone" and so on; a word of our own where it is none that is known."""
    said = request.headers.get("user-agent", "")
    return next((sign for sign in _SIGNS if sign in said), say("web.some_device"))

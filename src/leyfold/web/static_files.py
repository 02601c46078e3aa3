"""The built pages of the round, as they lie in the package."""

from __future__ import annotations

import hashlib
import mimetypes
import re
from base64 import b64encode
from pathlib import Path

from starlette.requests import Request
from starlette.responses import Response

from leyfold.web.guard import POLICY
from leyfold.web.made import Made, answer
from leyfold.web.refusals import Refusal

__all__ = ["Static"]

FOLDER = Path(__file__).parent / "static"
LONG = "public, max-age=31536000, immutable"
AGAIN = "no-cache"
TYPES = {
    ".html": "text/html; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".json": "application/json",
    ".map": "application/json",
    ".svg": "image/svg+xml",
    ".webmanifest": "application/manifest+json",
    ".woff2": "font/woff2",
}
_INLINE = re.compile(rb"<(style|script)>(.*?)</\1>", re.DOTALL)
_TEXTS = ("text/", "application/json", "application/manifest", "image/svg")


class Static:
    """Files by the names they were found under: a path that names none of them leads nowhere, whatever it
    holds. Read again when the build has changed."""

    def __init__(self, folder: Path = FOLDER) -> None:
        self._folder = folder
        self._stamp: object = None
        self._files: dict[str, Made] = {}
        self._policy = POLICY

    def answer(self, request: Request, path: str) -> Response:
        """The file, or, for a path without a dot, the first page; `Refusal` 404 for others."""
        files = self._read()
        name = path if path in files else "" if "." not in path.rpartition("/")[2] else None
        made = files.get("index.html" if name == "" else name or "")
        if made is None:
            raise Refusal(404, "not_built" if name == "" else "nothing_here")
        keep = LONG if path.startswith("assets/") else AGAIN
        return answer(request, made, Cache_Control=keep, Content_Security_Policy=self._policy)

    def _read(self) -> dict[str, Made]:
        try:
            found = (self._folder / "index.html").stat()
        except OSError:
            return {}
        if (found.st_mtime_ns, found.st_size) != self._stamp:
            paths = [path for path in self._folder.rglob("*") if path.is_file() and not path.is_symlink()]
            self._files = {path.relative_to(self._folder).as_posix(): _made(path) for path in paths}
            self._policy = _policy(self._files["index.html"].body)
            self._stamp = found.st_mtime_ns, found.st_size
        return self._files


def _policy(page: bytes) -> str:
    """The policy of every page, with the page's own style and first words of script let through by hash."""
    policy = POLICY
    for kind, text in _INLINE.findall(page):
        own = f"{kind.decode()}-src 'self'"
        policy = policy.replace(own, f"{own} 'sha256-{b64encode(hashlib.sha256(text).digest()).decode()}'")
    return policy


def _made(path: Path) -> Made:
    kind = TYPES.get(path.suffix) or mimetypes.guess_type(path.name)[0] or "application/octet-stream"
    body = path.read_bytes()
    return Made.of(body, kind) if kind.startswith(_TEXTS) else Made(body, None, kind)

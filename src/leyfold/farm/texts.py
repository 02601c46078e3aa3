"""The farm's files as one folder: read with a fingerprint, written whole or not at all, all versions kept."""

from __future__ import annotations

import errno
import hashlib
import os
import stat
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from leyfold.nouns.errors import BadInput, Fault
from leyfold.words import say

__all__ = ["HIDDEN", "Text", "Texts", "folder_of"]

HIDDEN = ".leyfold"
"""Where Leyfold keeps what is its own, in the farm's folder."""
OWN = ("farm.toml", "plan.toml", "land.geojson", "records.jsonl", "records.db")
"""The files by which a farm's folder may be named."""
_MB = 1_000_000


@dataclass(frozen=True, slots=True)
class Text:
    """A file as it was read; `sha` is the SHA-256 of its bytes, to be shown again when writing."""

    name: str
    text: str
    sha: str


class Texts:
    """A folder of text files.

    Every accepted version lies in `.leyfold/NAME/`, numbered; nothing there is ever changed or removed.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def has(self, name: str) -> bool:
        return self._path(name).is_file()

    def read(self, name: str) -> Text:
        """The file `name`. BadInput where it is missing, unreadable or not UTF-8."""
        path = self._path(name)
        try:
            there = path.stat()
            if not stat.S_ISREG(there.st_mode):
                # A pipe or a device would be waited for, or read, for ever.
                reason = errno.EISDIR if stat.S_ISDIR(there.st_mode) else errno.ENOTSUP
                raise OSError(reason, os.strerror(reason))
            size = there.st_size
            if size > _most(name):
                raise _refused(name, "too_big", size=size // _MB, most=_most(name) // _MB)
            data = path.read_bytes()
        except FileNotFoundError:
            raise _refused(name, "missing", folder=self.folder) from None
        except OSError as error:
            raise _refused(name, "unreadable", reason=error.strerror or "") from None
        try:
            text = data.decode("utf-8-sig")
        except UnicodeDecodeError as error:
            line = data.count(b"\n", 0, error.start) + 1
            raise _refused(name, "not_utf8", line=line) from None
        return Text(name, text.replace("\r\n", "\n"), _sha(data))

    def write(self, name: str, text: str, expected_sha: str | None) -> Text:
        """Put `text` in place of the version whose fingerprint is `expected_sha` (None: of no file at all).

        BadInput, and nothing changed, where another version is there by now or the disk refuses. The
        version replaced is kept as well as the new one, so an edit by another program is not lost either.
        """
        path = self._path(name)
        data = text.encode("utf-8")
        try:
            with _locked(self.folder / HIDDEN):
                there = path.read_bytes() if path.exists() else None
                if (None if there is None else _sha(there)) != expected_sha:
                    raise _refused(name, "stale" if expected_sha else "exists")
                if there is not None:
                    self._keep(name, there)
                self._keep(name, data)
                _replace(path.resolve(), data)
        except OSError as error:
            raise _refused(name, "unwritable", reason=error.strerror or "") from None
        return Text(name, text, _sha(data))

    def kept(self, name: str) -> tuple[Path, ...]:
        """All kept versions of `name`, oldest first."""
        self._path(name)
        return tuple(sorted((self.folder / HIDDEN / name).glob("[0-9]*-*")))

    def _keep(self, name: str, data: bytes) -> None:
        versions = self.kept(name)
        mark = _sha(data)[:12]
        if versions and versions[-1].stem.endswith(mark):
            return
        number = int(versions[-1].name.partition("-")[0]) + 1 if versions else 1
        folder = self.folder / HIDDEN / name
        folder.mkdir(parents=True, exist_ok=True)
        _replace(folder / f"{number:06d}-{mark}{Path(name).suffix}", data)

    def _path(self, name: str) -> Path:
        if not name or Path(name).name != name or name.startswith("."):
            raise ValueError(f"not a plain file name: {name!r}")
        return self.folder / name


def folder_of(where: Path) -> Path:
    """The farm's folder, also where one of its files was named. BadInput where another file was: what is
    in it would be passed over without a word."""
    if not where.is_file():
        return where
    if where.name not in OWN:
        raise _refused(where.name, "not_ours", folder=where.parent, path=where)
    return where.parent


def _sha(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def _most(name: str) -> int:
    """Bytes: a hand writes a farm, records are written for ten years."""
    return (4 if name.endswith(".toml") else 500) * _MB


def _refused(name: str, key: str, *, line: int | None = None, **values: object) -> BadInput:
    mend = say(f"farm.text_{key}_mend", name=name, **values)
    return BadInput(Fault(name, "", say(f"farm.text_{key}", name=name, **values), mend, line))


def _replace(path: Path, data: bytes) -> None:
    """Write beside `path`, to the disk, then rename over it: a reader sees the old file or the new."""
    handle, beside = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "wb") as out:
            out.write(data)
            out.flush()
            os.fsync(out.fileno())
        os.chmod(beside, path.stat().st_mode & 0o777 if path.exists() else 0o644)
        os.replace(beside, path)
    except BaseException:
        Path(beside).unlink(missing_ok=True)
        raise
    if sys.platform != "win32":
        folder = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)


@contextmanager
def _locked(folder: Path) -> Iterator[None]:
    """One writer at a time among all programs; the system frees the lock of one that died."""
    folder.mkdir(exist_ok=True)
    with (folder / "lock").open("a") as lock:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(lock.fileno(), msvcrt.LK_LOCK, 1)
        else:
            import fcntl

            fcntl.flock(lock, fcntl.LOCK_EX)
        yield

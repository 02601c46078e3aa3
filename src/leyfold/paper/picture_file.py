"""A picture written to a file: SVG as it is, or as PNG."""

from __future__ import annotations

import os
from pathlib import Path

from leyfold.nouns.errors import BadInput, Fault
from leyfold.words import say

__all__ = ["check_picture", "png", "write_picture", "write_whole"]

PPI = 144.0
"""Twice the size on screen: 2,800 pixels across, 240 an inch on A4."""


def check_picture(path: Path, option: str = "--picture") -> None:
    """BadInput, naming the `option` that asked for it, for an ending no picture has or a folder that is not
    there: to be told before the picture is worked out."""
    if path.suffix.lower() not in (".svg", ".png"):
        raise _refused(path, option, "ending", ending=path.suffix)
    if not path.parent.is_dir() or path.is_dir():
        raise _refused(path, option, "folder", folder=str(path.parent))


def write_picture(svg: str, path: Path, option: str = "--picture") -> None:
    """`path` as SVG or PNG by its ending, whole or not at all. BadInput as `check_picture` has it."""
    check_picture(path, option)
    write_whole(svg.encode() if path.suffix.lower() == ".svg" else png(svg), path, option)


def write_whole(content: bytes, path: Path, option: str) -> None:
    """The bytes into `path`, all or none of them. BadInput for a folder that is not there or a full disk."""
    if not path.parent.is_dir() or path.is_dir():
        raise _refused(path, option, "folder", folder=str(path.parent))
    half = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        half.write_bytes(content)
        half.replace(path)
    except OSError as error:
        half.unlink(missing_ok=True)
        raise _refused(path, option, "write", why=error.strerror or str(error)) from error


def _refused(path: Path, option: str, key: str, **words: str) -> BadInput:
    return BadInput(
        Fault(
            str(path),
            option,
            say(f"picture.file_{key}", **words),
            say(f"picture.file_{key}_mend", **words),
        )
    )


def png(svg: str) -> bytes:
    """The picture in pixels, in its light scheme, with the faces the renderer brings along."""
    import typst

    page = b'#set page(width: auto, height: auto, margin: 0pt)\n#image("picture.svg")'
    files = {"main.typ": page, "picture.svg": svg.encode()}
    # Files in memory are taken, though its types do not say so.
    made = typst.compile(files, format="png", ppi=PPI, ignore_system_fonts=True)  # type: ignore[call-overload]
    assert isinstance(made, bytes)
    return made

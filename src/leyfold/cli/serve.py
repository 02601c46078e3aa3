"""`leyfold serve`: the farm's own server, for this machine's browser and the phones around it."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from leyfold.words import say

if TYPE_CHECKING:
    from leyfold.web.run import Opened

__all__ = ["serve"]


def serve(
    farm: Path,
    *,
    port: int = 8765,
    host: str | None = None,
    https: bool = False,
    at: str | None = None,
    open_browser: bool = True,
) -> int:
    """Serve a farm: the round, its records and the season of the year, in the browser. Ctrl-C ends it.

    Parameters
    ----------
    farm
        The farm's folder, or its farm.toml.
    port
        Where on this machine; 0 takes any that is free.
    host
        The address to listen at. Unless one is named, only this machine can ask; with --https, all of the
        farm's own network.
    https
        Serve phones with a certificate of the farm's own, so that the round opens out of signal. The page at
        the next port says what to do on a phone.
    at
        Practise: live as if it were this time (2027-05-12T06:30, by the farm's clock) and on from there.
    open_browser
        Open the round in the browser, signed in, where there is one.
    """
    from leyfold.cli.answer import when
    from leyfold.farm.texts import folder_of
    from leyfold.web.run import serve_farm

    folder = folder_of(farm)

    def told(opened: Opened) -> None:
        print(say("cli.serving", address=opened.address), flush=True)
        print(say("cli.serving_link", link=opened.link), flush=True)
        for note in opened.notes:
            print(note, flush=True)
        if open_browser:
            import webbrowser

            webbrowser.open(opened.link)

    try:
        clock = None if at is None else when(at, farm)
        serve_farm(folder, host=host, port=port, https=https, at=clock, told=told)
    except KeyboardInterrupt:
        pass
    print(say("cli.served"), file=sys.stderr)
    return 0

"""The command line: thin shells over the services. Commands are loaded when they are called."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence

from cyclopts import App, CycloptsError

from leyfold.nouns.errors import BadInput
from leyfold.words import say

__all__ = ["main"]

COMMANDS = (
    *("season", "ahead", "check", "start", "eggs", "reckon", "why", "learn", "feed", "paper"),
    *("ground", "fields", "figures", "serve"),
)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command. 0 answered, 2 input that cannot be used, 3 no plan fits."""
    # Plain text: markdown would cost a fifth of the time of --help.
    app = App(
        name="leyfold",
        help=say("cli.help"),
        help_format="plaintext",
        version_flags=["--version"],
        result_action="return_value",
    )
    for name in COMMANDS:
        app.command(f"leyfold.cli.{name}:{name}", name=name, help=say(f"cli.help_{name}"))
    try:
        code = int(app(arguments, exit_on_error=False, print_error=False) or 0)
        sys.stdout.flush()
        return code
    except BrokenPipeError:
        # Whoever read us (`| head`) has seen enough; nothing may be written at exit any more.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except BadInput as wrong:
        for fault in wrong.faults:
            print(fault, file=sys.stderr)
    except CycloptsError as wrong:
        print(wrong, file=sys.stderr)
    return 2

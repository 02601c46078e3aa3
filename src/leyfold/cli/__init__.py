"""The command line: thin shells over the services. Commands are loaded when they are called."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Sequence
from keyword import iskeyword

from leyfold.nouns.errors import BadInput
from leyfold.words import say

__all__ = ["main", "own_name"]

COMMANDS = (
    *("season", "ahead", "round", "check", "start", "plan", "eggs", "reckon", "compare", "replan", "why"),
    *("learn", "feed", "paper", "ground", "fields", "figures", "serve"),
    *("record", "enter", "backup", "restore", "sound", "export", "import"),
)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command. 0 answered, 2 input that cannot be used, 3 no plan fits."""
    words = sys.argv[1:] if arguments is None else list(arguments)
    # Leyfold multiplies small matrices: more threads at each would only wait for one another.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    # A command makes many things at its start and keeps them all: it is looked through seldom.
    gc.set_threshold(20_000, 20, 20)
    try:
        if words in ([], ["--help"], ["-h"]):
            # The list of commands is asked for most often: it waits for no library.
            print(_contents())
            return 0
        return _run(words)
    except BrokenPipeError:
        # Whoever read us (`| head`) has seen enough; nothing may be written at exit any more.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except BadInput as wrong:
        for fault in wrong.faults:
            print(fault, file=sys.stderr)
    return 2


def own_name(name: str) -> str:
    """What a command's module and its function are called: `import` is a word of Python's own."""
    return f"{name}_" if iskeyword(name) else name


def _contents() -> str:
    """Every command in a line, in the order of a farm's use."""
    wide = max(map(len, COMMANDS)) + 2
    lines = [f"  {name:{wide}}{say(f'cli.help_{name}')}" for name in COMMANDS]
    return "\n".join([say("cli.help"), "", say("cli.usage"), "", *lines, "", say("cli.more")])


def _run(words: Sequence[str]) -> int:
    from cyclopts import App, CycloptsError

    app = App(
        name="leyfold",
        help=say("cli.help"),
        help_format="plaintext",
        version_flags=["--version"],
        result_action="return_value",
    )
    for name in COMMANDS:
        own = own_name(name)
        app.command(f"leyfold.cli.{own}:{own}", name=name, help=say(f"cli.help_{name}"))
    try:
        code = int(app(words, exit_on_error=False, print_error=False) or 0)
    except CycloptsError as wrong:
        print(wrong, file=sys.stderr)
        return 2
    sys.stdout.flush()
    return code

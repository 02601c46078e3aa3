"""Sets the project up, serves it, tests it. Standard library only: it runs before anything is installed."""

from __future__ import annotations

import argparse
import hashlib
import importlib.util
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
RUN_LOCK = ROOT / "requirements.lock"
DEV_LOCK = ROOT / "requirements-dev.lock"
NODE_LOCK = ROOT / "requirements-node.lock"
PRACTICE = ROOT / ".leyfold" / "practice"
PRACTICE_AT = "2027-05-08T06:10"  # chicks under heat, birds in shelters, hens in the house
FRONTEND = ROOT / "frontend"
FACE = ROOT / "src" / "leyfold" / "web" / "static"
NODE_AT_LEAST = (20, 19)

# What another environment of the developer would bring in; the machine's pip settings stay.
FOREIGN = [
    "PYTHONPATH",
    "PYTHONHOME",
    "PYTHONSTARTUP",
    "PYTHONUSERBASE",
    "PYTHONWARNINGS",
    "PYTHONSAFEPATH",
    "PYTHONOPTIMIZE",
    "PYTHONPYCACHEPREFIX",
    "VIRTUAL_ENV",
    "CONDA_PREFIX",
    "PIP_TARGET",
    "PIP_PREFIX",
    "PIP_USER",
    "PYTEST_ADDOPTS",
    "PYTEST_PLUGINS",
    "NODE_ENV",
    "NODE_OPTIONS",
    "MYPYPATH",
]

# Words of pip's when the network, not a package, is at fault.
UNREACHED = (
    "NewConnectionError",
    "ConnectTimeoutError",
    "NameResolutionError",
    "Max retries exceeded",
    "ProxyError",
    "ReadTimeoutError",
    "Connection refused",
    "SSLError",
)


BROWSERS = ("chromium", "chromium-browser")
IMPORTS = "from importlinter.cli import lint_imports_command as check; check()"


class Stop(Exception):
    """Something the reader must mend first; the message is all they see."""


def tell(line: str) -> None:
    print(line, flush=True)


def environment() -> dict[str, str]:
    """The environment every step runs in: ours first, nothing of another Python's."""
    kept = {name: value for name, value in os.environ.items() if name not in FOREIGN}
    kept["PATH"] = os.pathsep.join([str(python().parent), kept.get("PATH", os.defpath)])
    kept["PYTHONNOUSERSITE"] = "1"
    return kept


def python() -> Path:
    return VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


# --- set-up -----------------------------------------------------------------------------------------


def stamp(lock: Path) -> str:
    """What an installed environment was made from."""
    parts = [sys.version.encode(), lock.read_bytes(), (ROOT / "pyproject.toml").read_bytes(), bytes(ROOT)]
    return hashlib.sha256(b"\0".join(parts)).hexdigest()


def is_ready(lock: Path) -> bool:
    """True where this lock, or the larger one that holds it, is installed as it stands."""
    made = VENV / "leyfold.stamp"
    wanted = {stamp(lock), stamp(DEV_LOCK)}
    return python().exists() and made.exists() and made.read_text(encoding="ascii") in wanted


def set_up(lock: Path) -> None:
    """Make `.venv` hold what `lock` names and the package itself, editable."""
    if is_ready(lock):
        return
    made = VENV / "leyfold.stamp"
    made.unlink(missing_ok=True)
    start = time.monotonic()
    if is_usable():
        tell("[1/3] environment .venv: there")
    else:
        tell("[1/3] environment .venv: making it")
        make_environment()
    count = sum("==" in line for line in lock.read_text(encoding="utf-8").splitlines())
    tell(f"[2/3] packages of {lock.name} (up to {count}): a minute or two the first time")
    pip("install", "--require-hashes", "-r", str(lock))
    tell("[3/3] leyfold itself")
    pip("install", "--no-deps", "--no-build-isolation", "--editable", str(ROOT))
    made.write_text(stamp(lock), encoding="ascii")
    tell(f"      ready after {time.monotonic() - start:.0f} s")


def is_usable() -> bool:
    """True for an environment of the Python that runs this."""
    if not python().exists():
        return False
    ask = [str(python()), "-I", "-c", "import sys, pip; print(sys.version, end='')"]
    answer = subprocess.run(ask, capture_output=True, text=True, check=False)
    return answer.returncode == 0 and answer.stdout == sys.version


def make_environment() -> None:
    """Raises Stop where this Python cannot make one."""
    if any(importlib.util.find_spec(module) is None for module in ("venv", "ensurepip")):
        version = f"{sys.version_info.major}.{sys.version_info.minor}"
        raise Stop(
            f"This Python ({sys.executable}) comes without venv or ensurepip: no environment can be made.\n"
            f"Debian, Ubuntu: apt install python{version}-venv. Elsewhere: install the full Python\n"
            f"{version}, or name another: PYTHON=/path/to/python3 ./x"
        )
    if VENV.exists():
        shutil.rmtree(VENV)
    command = [sys.executable, "-I", "-m", "venv", str(VENV)]
    made = subprocess.run(command, capture_output=True, text=True, check=False)
    if made.returncode:
        raise Stop(f"The environment .venv could not be made:\n{(made.stdout + made.stderr).strip()}")


def pip(*arguments: str) -> None:
    """Run pip with a word of progress. Raises Stop, with pip's own last lines, when it fails."""
    command = [str(python()), "-m", "pip", *arguments, "--no-input", "--progress-bar", "off"]
    said: list[str] = []
    fetched = 0
    with subprocess.Popen(
        command,
        env=environment(),
        cwd=ROOT,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        encoding="utf-8",
        errors="replace",
    ) as run:
        for line in run.stdout or ():
            said.append(line.rstrip())
            if line.startswith("Collecting "):
                fetched += 1
                if fetched % 10 == 0:
                    tell(f"      {fetched} fetched")
            elif line.startswith("Installing collected packages"):
                tell(f"      unpacking {fetched}" if fetched else "      unpacking")
            elif "Retrying (" in line and not any("Retrying (" in earlier for earlier in said[:-1]):
                tell("      the package registry does not answer; trying again")
    if run.returncode:
        raise Stop(explain(said))


# --- the face: the round on the phone, built by node -------------------------------------------------


def face_stamp() -> str:
    """What the built face was made from: every source of the front end."""
    sources = (path for path in FRONTEND.rglob("*") if "node_modules" not in path.parts and path.is_file())
    whole = hashlib.sha256()
    for path in sorted(sources):
        whole.update(str(path.relative_to(FRONTEND)).encode() + b"\0" + path.read_bytes() + b"\0")
    return whole.hexdigest()


def node_version() -> tuple[int, ...] | None:
    """Of the node on the path, where npm is there too."""
    path = environment()["PATH"]
    node = shutil.which("node", path=path)
    if not node or not shutil.which("npm", path=path):
        return None
    asked = subprocess.run([node, "--version"], capture_output=True, text=True, check=False)
    numbers = asked.stdout.strip().removeprefix("v").split(".")
    return tuple(map(int, numbers)) if asked.returncode == 0 and all(n.isdigit() for n in numbers) else None


def set_up_face() -> None:
    """Build the round's screens where they are not built from these sources. Raises Stop where it cannot."""
    made = FACE / "leyfold.stamp"
    wanted = face_stamp()
    if made.exists() and made.read_text(encoding="ascii") == wanted:
        return
    start = time.monotonic()
    set_up_modules()
    tell("[face] building the round's screens")
    npm("run", "build", "--silent")
    made.write_text(wanted, encoding="ascii")
    tell(f"       ready after {time.monotonic() - start:.0f} s")


def set_up_modules() -> None:
    """Make `frontend/node_modules` hold what its lock names. Raises Stop where it cannot."""
    made = FRONTEND / "node_modules" / "leyfold.stamp"
    lock = hashlib.sha256((FRONTEND / "package-lock.json").read_bytes()).hexdigest()
    if (node_version() or (0,)) < NODE_AT_LEAST:
        tell("[face] no node 20.19 or newer here: fetching one for this project alone (60 MB)")
        pip("install", "--require-hashes", "-r", str(NODE_LOCK))
    if made.exists() and made.read_text(encoding="ascii") == lock:
        return
    tell("[face] packages of frontend/package-lock.json: half a minute the first time")
    npm("ci", "--include=dev", "--no-audit", "--no-fund")
    made.write_text(lock, encoding="ascii")


def npm(*arguments: str) -> None:
    """Run npm in the front end. Raises Stop, with its last lines, when it fails."""
    found = shutil.which("npm", path=environment()["PATH"])
    if not found:
        raise Stop("The round's screens could not be built: there is no npm.")
    run = subprocess.run(
        [found, *arguments],
        env=environment(),
        cwd=FRONTEND,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        encoding="utf-8",
        errors="replace",
        check=False,
    )
    if run.returncode:
        last = "\n".join((run.stdout + run.stderr).strip().splitlines()[-12:])
        raise Stop(f"The round's screens could not be built.\n--- what npm said last ---\n{last}")


def explain(said: list[str]) -> str:
    """Why an install failed, in plain words above pip's own last lines."""
    whole = "\n".join(said)
    if any(sign in whole for sign in UNREACHED):
        why = (
            "The package registry could not be reached. Leyfold itself works without a network, but\n"
            "setting it up the first time does not. Check the line, or what pip is told on this machine:\n"
            "pip config list"
        )
    elif "DO NOT MATCH THE HASHES" in whole:
        why = "A package is not the one this version of Leyfold was made with: its hash differs."
    elif "No space left" in whole:
        why = "The disk is full."
    elif "No matching distribution found" in whole:
        why = "A package could not be had for this Python on this machine."
    else:
        why = "The packages could not be installed."
    telling = [line for line in said if not line.startswith(("Ignoring ", "WARNING: Retrying "))]
    return "\n".join([why, "--- what pip said last ---", *telling[-12:]])


def set_up_browser() -> None:
    """Chromium, in which the tests look at the page: installed where it is missing and this may be done."""
    named = os.environ.get("CHROMIUM")
    if named and not shutil.which(named):
        raise Stop(f"CHROMIUM names {named}, but that cannot be run.")
    if named or any(map(shutil.which, BROWSERS)):
        return
    start = as_root()
    if start is None or not shutil.which("apt-get"):
        raise Stop(
            "The tests look at the page in Chromium, and none was found here. Install it (Debian, Ubuntu:\n"
            "apt install chromium), or name one: CHROMIUM=/path/to/chromium ./x test"
        )
    tell("--- browser: no Chromium found; installing it, about a minute")
    for arguments in (["update", "-q"], ["install", "-q", "-y", "--no-install-recommends", "chromium"]):
        command = [*start, "apt-get", *arguments]
        made = subprocess.run(command, capture_output=True, text=True, stdin=subprocess.DEVNULL, check=False)
        if made.returncode:
            last = "\n".join((made.stdout + made.stderr).strip().splitlines()[-6:])
            raise Stop(f"Chromium could not be installed. What apt-get said last:\n{last}")


def as_root() -> list[str] | None:
    """What to begin a command with so that it may install; None where nothing can."""
    if os.name == "posix" and os.geteuid() == 0:
        return []
    if shutil.which("sudo"):
        asked = subprocess.run(["sudo", "-n", "true"], capture_output=True, check=False)
        return ["sudo", "-n"] if asked.returncode == 0 else None
    return None


# --- commands ---------------------------------------------------------------------------------------


def run(command: Sequence[str], where: Path = ROOT) -> int:
    return subprocess.run(
        command, env=environment(), cwd=where, stdin=subprocess.DEVNULL, check=False
    ).returncode


def step(name: str, command: Sequence[str], where: Path = ROOT) -> None:
    """One named, timed step. Raises Stop when it fails."""
    tell(f"--- {name}")
    start = time.monotonic()
    code = run(command, where)
    took = time.monotonic() - start
    if code:
        raise Stop(f"--- {name}: failed after {took:.1f} s (exit {code})")
    tell(f"--- {name}: passed in {took:.1f} s")


def serve(arguments: list[str]) -> int:
    """./x serve [FARM]     a farm in the browser; without one, a copy of the demo farm to practise on"""
    set_up(RUN_LOCK)
    try:
        set_up_face()
    except Stop as stop:
        tell(f"{stop}\nThe year's page is served without them.")
    module = [str(python()), "-m", "leyfold", "serve"]
    if not any(Path(word).exists() for word in arguments):
        run([str(python()), str(ROOT / "tools" / "practice.py"), str(PRACTICE), PRACTICE_AT])
        arguments = [str(PRACTICE), "--at", PRACTICE_AT, *arguments]
    return subprocess.run([*module, *arguments], env=environment(), check=False).returncode


def test(arguments: list[str]) -> int:
    """./x test [ARG ...]   every check, the quickest first; ARG goes to pytest"""
    set_up(DEV_LOCK)
    set_up_browser()
    set_up_modules()
    set_up_face()
    start = time.monotonic()
    module = [str(python()), "-m"]
    npm_run = [shutil.which("npm", path=environment()["PATH"]) or "npm", "run", "--silent"]
    step("lint (ruff check)", [*module, "ruff", "check", "."])
    step("layout of the code (ruff format)", [*module, "ruff", "format", "--check", "."])
    step("rooms and walls (lint-imports)", [str(python()), "-c", IMPORTS])
    step("types (mypy --strict)", [*module, "mypy"])
    for name, script in (("svelte-check", "check"), ("Biome", "lint"), ("Vitest", "test")):
        step(f"the face ({name})", [*npm_run, script], FRONTEND)
    step("tests (pytest)", [*module, "pytest", "-n", "auto", *arguments])
    tell(f"All passed in {time.monotonic() - start:.0f} s.")
    return 0


def tidy(arguments: list[str]) -> int:
    """./x tidy [PATH ...]  mend what ruff can mend and lay the code out"""
    set_up(DEV_LOCK)
    paths = arguments or ["."]
    lint = run([str(python()), "-m", "ruff", "check", "--fix", *paths])
    return run([str(python()), "-m", "ruff", "format", *paths]) or lint


def bench(arguments: list[str]) -> int:
    """./x bench [WORD ...] the benchmarks, or those with a given word in their name"""
    set_up(DEV_LOCK)
    found = sorted((ROOT / "benchmarks").glob("bench_*.py"))
    wanted = [path for path in found if not arguments or any(word in path.stem for word in arguments)]
    if not wanted:
        raise Stop(f"No benchmark is named so. There are: {', '.join(path.stem for path in found) or 'none'}")
    for path in wanted:
        step(path.stem, [str(python()), str(path)])
    return 0


def lock(arguments: list[str]) -> int:
    """./x lock [--upgrade] the lock files anew: hashed, without addresses"""
    set_up(DEV_LOCK)
    compile_ = [str(python()), "-m", "uv", "pip", "compile", "--quiet", *arguments]
    compiler = [*compile_, "pyproject.toml"]
    form = ["--universal", "--python-version", "3.11", "--generate-hashes", "--no-header", "--no-annotate"]
    step(DEV_LOCK.name, [*compiler, *form, "--group", "dev", "--all-extras", "-o", DEV_LOCK.name])
    # The run lock takes its versions from the larger one, so that one environment serves both.
    step(RUN_LOCK.name, [*compiler, *form, "--group", "build", "-c", DEV_LOCK.name, "-o", RUN_LOCK.name])
    step(NODE_LOCK.name, [*compile_, "requirements-node.in", *form, "-o", NODE_LOCK.name])
    return 0


COMMANDS: dict[str, Callable[[list[str]], int]] = {
    "serve": serve,
    "test": test,
    "tidy": tidy,
    "bench": bench,
    "lock": lock,
}


def main() -> int:
    """Read the command line, run one command, turn a Stop into its message."""
    helps = "\n".join(f"  {command.__doc__}" for command in COMMANDS.values())
    parser = argparse.ArgumentParser(
        prog="./x",
        usage="./x COMMAND ...",
        epilog=f"commands:\n{helps}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("command", choices=COMMANDS, help=argparse.SUPPRESS)
    parser.add_argument("arguments", nargs=argparse.REMAINDER, help=argparse.SUPPRESS)
    if len(sys.argv) == 1:
        parser.print_help()
        return 0
    chosen = parser.parse_args()
    try:
        return COMMANDS[chosen.command](chosen.arguments)
    except Stop as stop:
        print(stop, file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        return 130


if __name__ == "__main__":
    sys.exit(main())

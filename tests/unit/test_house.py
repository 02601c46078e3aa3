"""The rules of the house that no linter knows."""

from __future__ import annotations

import ast
import json
import re
import subprocess
import sys
import tomllib
from functools import cache
from importlib import import_module
from itertools import chain
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
SRC = ROOT / "src" / "leyfold"
MODULES = sorted(SRC.rglob("*.py"))
LOCKS = [ROOT / "requirements.lock", ROOT / "requirements-dev.lock"]

# Written so that this file does not match itself.
PRIVATE = {
    "the address of a package registry": r"pypi\.o[r]g|pythonhoste[d]|registry\.npmj[s]|npmjs\.(co[m]|or[g])"
    r"|debian\.or[g]/debian|conda\.anacond[a]",
    "a path of one machine": r"(?<![\w.])/(?:roo[t]|wor[k])/|(?<![\w.:/])/(?:hom[e]|User[s])/\w",
    "an address inside a private network": r"\b(?:192\.16[8]|10\.\d{1,3}\.\d{1,3})\.\d{1,3}(?:\.\d{1,3})?:\d",
}


@cache
def tracked() -> list[Path]:
    listing = ["git", "-c", "safe.directory=*", "-C", str(ROOT), "ls-files", "-z"]
    names = subprocess.run(listing, capture_output=True, text=True, check=True).stdout
    return [path for name in names.split("\0") if name and (path := ROOT / name).is_file()]


@cache
def tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"), str(path))


def place(path: Path, node: ast.AST) -> str:
    return f"{path.relative_to(ROOT)}:{getattr(node, 'lineno', 1)}"


# --- what no file may hold ---------------------------------------------------------------------------


@pytest.mark.parametrize("what", PRIVATE)
def test_no_tracked_file_names(what: str) -> None:
    pattern = re.compile(PRIVATE[what].encode(), re.IGNORECASE)
    found = [str(path.relative_to(ROOT)) for path in tracked() if pattern.search(path.read_bytes())]
    assert not found, f"{what} in {found}"


def test_the_patterns_bite() -> None:
    for what, leak in [
        ("the address of a package registry", "--index-url https://pypi." + "org/simple"),
        ("the address of a package registry", "https://registry.npm" + "js.org/x"),
        ("a path of one machine", 'open("/ro' + 'ot/notes")'),
        ("a path of one machine", "/ho" + "me/someone/farm"),
        ("an address inside a private network", "http://192." + "168.1.20:8080"),
    ]:
        assert re.search(PRIVATE[what], leak), leak


def test_links_in_documents_lead_somewhere() -> None:
    for page in (path for path in tracked() if path.suffix == ".md"):
        for target in re.findall(r"\]\(([^)#]+)", page.read_text(encoding="utf-8")):
            assert "://" in target or (page.parent / target).exists(), f"{page.name}: {target}"


def test_readme_lists_the_commands_there_are() -> None:
    shell = import_module("leyfold.cli")
    commands = shell.COMMANDS
    listed = re.findall(r"^\| `leyfold (\w+)` \|", (ROOT / "README.md").read_text("utf-8"), re.MULTILINE)
    assert sorted(listed) == sorted(commands)
    for name in map(shell.own_name, commands):
        assert callable(getattr(import_module(f"leyfold.cli.{name}"), name)), name


def test_decisions_are_numbered_dated_and_short() -> None:
    pages = sorted((ROOT / "docs" / "decisions").glob("*.md"))
    assert [page.name[:4] for page in pages] == [f"{n:04}" for n in range(1, len(pages) + 1)]
    for page in pages:
        lines = page.read_text(encoding="utf-8").splitlines()
        assert lines[0].startswith(f"# {page.name[:4]}: "), page.name
        assert re.match(r"\d{4}-\d{2}-\d{2}, ", lines[2]), page.name
        assert len(lines) < 60, page.name


# --- lock files --------------------------------------------------------------------------------------


def pins(lock: Path) -> dict[str, set[str]]:
    """Versions by package name (more than one where they depend on the Python)."""
    held: dict[str, set[str]] = {}
    for name, version in re.findall(r"^([\w.-]+)==([^\s;]+)", lock.read_text(encoding="utf-8"), re.MULTILINE):
        held.setdefault(name, set()).add(version)
    return held


@pytest.mark.parametrize("lock", LOCKS, ids=lambda lock: lock.name)
def test_lock_holds_hashes_and_no_addresses(lock: Path) -> None:
    text = lock.read_text(encoding="utf-8")
    assert "://" not in text
    assert " @ " not in text
    entries = re.split(r"\n(?=\S)", text.strip())
    assert len(entries) > 20
    for entry in entries:
        assert re.match(r"[\w.-]+==\S+", entry), entry
        assert re.search(r"--hash=sha256:[0-9a-f]{64}", entry), entry


def test_lock_to_test_holds_lock_to_run() -> None:
    run, dev = (pins(lock) for lock in LOCKS)
    assert run.items() <= dev.items()


def test_locks_hold_what_pyproject_names() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    groups = project["dependency-groups"]
    run = project["project"]["dependencies"] + groups["build"]
    extras = list(chain.from_iterable(project["project"]["optional-dependencies"].values()))
    dev = run + extras + [one for one in groups["dev"] if isinstance(one, str)]
    for lock, wanted in zip(LOCKS, (run, dev), strict=True):
        names = {re.split(r"[^\w.-]", one)[0].lower().replace("_", "-") for one in wanted}
        assert names <= pins(lock).keys(), f"{lock.name}: run ./x lock"


def test_src_imports_only_what_pyproject_names() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    named = chain(project["dependencies"], *project["optional-dependencies"].values())
    known = {re.split(r"[^\w-]", one)[0].lower() for one in named} | sys.stdlib_module_names
    # pydantic_core and starlette are pydantic's and FastAPI's own, of one version with them; argon2-cffi and
    # python-ulid are imported by shorter names.
    known |= {"leyfold", "pydantic_core", "starlette", "argon2", "ulid"}
    for path in MODULES:
        for node in ast.walk(tree(path)):
            if isinstance(node, ast.Import):
                roots = {alias.name.partition(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
                roots = {node.module.partition(".")[0]}
            else:
                continue
            assert roots <= known, f"{place(path, node)}: {roots - known}"


# --- imports -----------------------------------------------------------------------------------------

HEAVY = {"fastapi", "highspy", "ortools", "pandas", "pint", "pyproj", "scipy", "shapely", "sqlalchemy"}
WALLED = ("leyfold.ground", "leyfold.store", "leyfold.units", "leyfold.web")


def loaded_by(statement: str) -> set[str]:
    """Top-level names in `sys.modules` after a statement in a fresh Python."""
    report = "import json, sys; print(json.dumps([name.partition('.')[0] for name in sys.modules]))"
    command = [sys.executable, "-I", "-c", f"{statement}\n{report}"]
    run = subprocess.run(command, capture_output=True, text=True, check=False)
    assert run.returncode == 0, run.stderr
    return set(json.loads(run.stdout))


def test_importing_leyfold_loads_nothing_heavy() -> None:
    assert not loaded_by("import leyfold") & (HEAVY | {"numpy", "pydantic", "rich", "babel", "tomlkit"})


def test_importing_any_room_outside_its_walls_loads_nothing_heavy() -> None:
    names = [".".join(("leyfold", *path.relative_to(SRC).with_suffix("").parts)) for path in MODULES]
    names = [name.removesuffix(".__init__") for name in names if not name.endswith("__main__")]
    free = [name for name in names if not name.startswith(WALLED)]
    assert not loaded_by("\n".join(f"import {name}" for name in free)) & HEAVY


def test_scipy_solves_no_plan_outside_plan_feed_and_workshop() -> None:
    """import-linter sees whole libraries only; fitting a curve or finding a root is no solver's work."""
    solvers = {"linear_sum_assignment", "linprog", "milp", "minimize"}
    for path in MODULES:
        if path.relative_to(SRC).parts[0] in {"plan", "feed", "workshop"}:
            continue
        for node in ast.walk(tree(path)):
            if isinstance(node, ast.ImportFrom) and node.module == "scipy.optimize":
                assert not solvers & {alias.name for alias in node.names}, place(path, node)
            if isinstance(node, ast.Attribute) and "optimize" in ast.unparse(node.value):
                assert node.attr not in solvers, place(path, node)


# --- shape of the code -------------------------------------------------------------------------------


def test_modules_and_public_functions_have_docstrings() -> None:
    bare = []
    for path in MODULES:
        public = [n for n in tree(path).body if isinstance(n, ast.FunctionDef) and n.name[0] != "_"]
        asked: list[ast.Module | ast.FunctionDef] = [tree(path), *public] if tree(path).body else []
        bare += [f"{place(path, n)} {getattr(n, 'name', '')}" for n in asked if not ast.get_docstring(n)]
    assert not bare, "no docstring: " + ", ".join(bare)


def test_a_name_is_exported_where_it_is_written() -> None:
    """One home for each name: only a room's `__init__` passes on what another module holds."""
    passed_on = []
    for path in MODULES:
        if path.name == "__init__.py":
            continue
        nodes = list(ast.walk(tree(path)))
        brought = {a.asname or a.name for n in nodes if isinstance(n, ast.ImportFrom) for a in n.names}
        for node in tree(path).body:
            if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "__all__":
                passed_on += [
                    f"{place(path, node)} {n}" for n in ast.literal_eval(node.value) if n in brought
                ]
    assert not passed_on


def test_modules_are_short() -> None:
    long = [path for path in tracked() if path.suffix == ".py" and len(path.read_bytes().splitlines()) > 500]
    assert not long, f"over 500 lines: {[str(path.relative_to(ROOT)) for path in long]}"

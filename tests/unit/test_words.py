"""Every sentence that is said is written, and every sentence that is written is said.

The code is read, not run. A key may be put together at run time, `say(f"log.{name}_mend")`, also in a
function that hands its own parameter on; then `fault("torn")` says `log.torn_mend`. What stays open is a
template: `log.{}_mend`.
"""

from __future__ import annotations

import ast
import re
import string
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest

import leyfold

SRC = Path(leyfold.__file__).parent
PAGES = sorted((SRC / "words" / "en").glob("*.toml"))


@dataclass(frozen=True)
class Speaker:
    """A callable that says something by one of its parameters: where in the call it stands, and as what."""

    position: int
    keyword: str
    template: str


@dataclass(frozen=True)
class Said:
    """One thing said: its key, with {} for what only the run will tell."""

    place: str
    key: str
    call: ast.Call
    by: str


SAY = Speaker(0, "key", "{}")
Known = dict[tuple[str, str], set[Speaker]]  # by module, or METHOD, and name
METHOD = "*"


@cache
def modules() -> dict[str, ast.Module]:
    trees = {}
    for path in sorted(SRC.rglob("*.py")):
        parts = ("leyfold", *path.relative_to(SRC).with_suffix("").parts)
        trees[".".join(parts).removesuffix(".__init__")] = ast.parse(path.read_text(encoding="utf-8"))
    return trees


@cache
def sentences() -> dict[str, str]:
    pages = {page.stem: tomllib.loads(page.read_text(encoding="utf-8")) for page in PAGES}
    return {f"{room}.{name}": pattern for room, page in pages.items() for name, pattern in page.items()}


@cache
def origins(module: str) -> dict[str, str]:
    """Of names a module imports from ours: the module they come from."""
    return {
        alias.asname or alias.name: node.module
        for node in ast.walk(modules()[module])
        if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith("leyfold")
        for alias in node.names
    }


def functions(module: str) -> Iterator[tuple[tuple[str, str], list[str], ast.FunctionDef]]:
    """Functions, methods and classes (by their `__init__`): called as, parameters, body."""
    owners = [n for n in ast.walk(modules()[module]) if isinstance(n, ast.Module | ast.ClassDef)]
    for owner in owners:
        for node in owner.body:
            if isinstance(node, ast.FunctionDef):
                names = [a.arg for a in (*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs)]
                if isinstance(owner, ast.Module):
                    yield (module, node.name), names, node
                elif node.name == "__init__":
                    yield (module, owner.name), names[1:], node
                else:
                    yield (METHOD, node.name), names[names[:1] in (["self"], ["cls"]) :], node


@cache
def target(module: str, call: ast.Call) -> tuple[str, str]:
    """What a call reaches: a name of this module or of the one it comes from, or some object's method."""
    homes = origins(module)
    match call.func:
        case ast.Name(id=name):
            return homes.get(name, module), name
        case ast.Attribute(value=ast.Name(id=owner), attr=name) if f"{homes.get(owner)}.{owner}" in modules():
            return f"{homes[owner]}.{owner}", name
        case ast.Attribute(attr=name):
            return METHOD, name
        case _:
            return METHOD, ""


def forms(node: ast.expr) -> Iterator[tuple[str, list[str]]]:
    """What a key expression can be: text with {} for its holes, and the bare names in those holes."""
    match node:
        case ast.IfExp():
            yield from forms(node.body)
            yield from forms(node.orelse)
        case ast.Constant(value=str(text)):
            yield text, []
        case ast.JoinedStr():
            text = "".join(str(p.value) if isinstance(p, ast.Constant) else "{}" for p in node.values)
            yield text, [getattr(p.value, "id", "") for p in node.values if isinstance(p, ast.FormattedValue)]
        case _:
            yield "{}", [getattr(node, "id", "")]


@cache
def call_nodes(body: ast.AST) -> list[ast.Call]:
    return [node for node in ast.walk(body) if isinstance(node, ast.Call)]


def calls(module: str, body: ast.AST, known: Known) -> Iterator[tuple[ast.Call, str, list[str]]]:
    """Calls of speakers below a node: the call, the key said with its holes, the names in them."""
    for node in call_nodes(body):
        for speaker in known.get(target(module, node), ()):
            given = [word.value for word in node.keywords if word.arg == speaker.keyword]
            if len(node.args) > speaker.position:
                given.append(node.args[speaker.position])
            for argument in given[:1]:
                for text, names in forms(argument):
                    yield node, speaker.template.replace("{}", text), names


@cache
def speakers() -> Known:
    """All speakers, found from `say` outwards until there are no more."""
    known: Known = {("leyfold.words", "say"): {SAY}}
    count = 0
    while count < (count := sum(map(len, known.values()))):
        for module in modules():
            for name, parameters, function in functions(module):
                for _, key, names in calls(module, function, dict(known)):
                    if len(names) == 1 and names[0] in parameters:
                        found = Speaker(parameters.index(names[0]), names[0], key)
                        known.setdefault(name, set()).add(found)
    return known


@cache
def said() -> list[Said]:
    """Everything said, save what a speaker hands on: that is said where the speaker is called."""
    handed_on = {
        id(call)
        for module in modules()
        for _, parameters, function in functions(module)
        for call, _, names in calls(module, function, speakers())
        if len(names) == 1 and names[0] in parameters
    }
    return [
        Said(f"{module}:{call.lineno}", key, call, target(module, call)[1])
        for module, tree in modules().items()
        for call, key, _ in calls(module, tree, speakers())
        if id(call) not in handed_on
    ]


@cache
def pattern(template: str) -> re.Pattern[str]:
    return re.compile("(.+)".join(map(re.escape, template.split("{}"))))


def test_something_is_said() -> None:
    assert len(said()) > 5


def test_every_key_said_is_written() -> None:
    table = sentences()
    for one in said():
        written = one.key in table or any(pattern(one.key).fullmatch(key) for key in table)
        assert written, f"{one.place}: no sentence {one.key!r}"


def test_every_sentence_gets_its_values() -> None:
    table = sentences()
    for one in said():
        given = {keyword.arg for keyword in one.call.keywords}
        if one.by != "say" or one.key not in table or None in given:
            continue
        parts = string.Formatter().parse(table[one.key])
        wanted = {re.split(r"[.\[]", field)[0] for _, field, _, _ in parts if field is not None}
        assert wanted <= given, f"{one.place}: {one.key!r} lacks {wanted - given}"


def test_every_sentence_written_is_said() -> None:
    """A template must name room and family, or the word that fills its hole must stand in the code."""
    strings = {
        node.value
        for tree in modules().values()
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    }
    whole = strings | {one.key for one in said()}
    templates = {one.key for one in said() if re.match(r"[a-z]+\.", one.key) and "{}" in one.key}

    def fits(key: str, template: str) -> bool:
        filled = pattern(template).fullmatch(key)
        if filled is None or re.match(r"[a-z]+\.[a-z]", template):
            return filled is not None
        return all(word in strings or word.removesuffix("_mend") in strings for word in filled.groups())

    silent = [k for k in sentences() if k not in whole and not any(fits(k, t) for t in templates)]
    assert not silent, f"never said: {silent}"


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_sentences_are_patterns_without_positions(page: Path) -> None:
    for name, sentence in tomllib.loads(page.read_text(encoding="utf-8")).items():
        assert isinstance(sentence, str), name
        assert re.fullmatch(r"[a-z][a-z0-9_]*", name), name
        assert all(field != "" for _, field, _, _ in string.Formatter().parse(sentence)), name

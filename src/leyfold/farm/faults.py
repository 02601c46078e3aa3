"""One file as it was read, and all that is found wrong with it, each at its line."""

from __future__ import annotations

import difflib
import re
import tomllib
import typing
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from leyfold.farm.locate import Lines, Path, locate
from leyfold.farm.quantity import unit_sentences
from leyfold.farm.texts import Text
from leyfold.nouns.errors import BadInput, Fault
from leyfold.units import UnitError
from leyfold.words import say

__all__ = ["Page", "open_page"]

Table = TypeVar("Table", bound=BaseModel)

MOST_NAMES = 24
MOST_ROUNDS = 5


class Page:
    """A TOML file: its data, the lines of its keys, and the faults found so far.

    `whole` is all that stands in it, `data` what of it has the right shape.
    """

    def __init__(self, text: Text, data: dict[str, Any]) -> None:
        self.name = text.name
        self.whole = data
        self.data = data
        self.lines: Lines = locate(text.text)
        self._noted: list[tuple[Path, Fault]] = []

    def source(self, *path: str | int) -> str:
        """Where a value was given: "farm.toml:12"."""
        return f"{self.name}:{self.lines.of(path) or 1}"

    def fault(self, path: Path, sentence: str, /, **values: object) -> None:
        """Note a fault at `path` in the `sentence` of farm.toml in words, and its mend."""
        self._note(path, say(f"farm.{sentence}", **values), say(f"farm.{sentence}_mend", **values))

    def refers(self, path: Path, name: object, known: Iterable[str], what: str) -> None:
        """Note where `name` is none of the `known` things of a kind, and which one it may have meant."""
        names = list(known)
        if name in names:
            return
        near = difflib.get_close_matches(str(name), names, n=1, cutoff=0.5)
        said = {"what": say(f"farm.what_{what}"), "name": name}
        if near:
            self.fault(path, "no_such_near", **said, near=near[0])
        elif names and len(names) <= MOST_NAMES:
            self.fault(path, "no_such_among", **said, names=", ".join(names))
        else:
            self.fault(path, "no_such", **said)

    def names(self, *path: str) -> list[str]:
        """The names of a table in the file, of faulty things too: they are there to be referred to."""
        here: Any = self.whole
        for step in path:
            here = here.get(step) if isinstance(here, dict) else None
        return list(here) if isinstance(here, dict) else []

    def no_doubles(self, table: str, ids: Sequence[object]) -> None:
        """Note every id of a list of tables that an earlier one has."""
        for i, name in enumerate(ids):
            if name is not None and name in ids[:i]:
                self.fault((table, i, "id"), "id_twice", name=name)

    def has(self, path: Path) -> bool:
        """Whether the file itself says anything at `path`."""
        here: Any = self.data
        for step in path:
            try:
                here = here[step]
            except (KeyError, IndexError, TypeError):
                return False
        return True

    def things(self) -> Iterator[tuple[Path, Mapping[str, Any]]]:
        """Every named table of the file, as [shelters.NAME]."""
        for kind, table in self.data.items():
            if isinstance(table, dict):
                yield from (((kind, name), thing) for name, thing in table.items() if isinstance(thing, dict))

    def fault_of_unit(self, path: Path, error: UnitError) -> None:
        """Note what `units` could not read."""
        self._note(path, *unit_sentences(error))

    def fits(self, model: type[Table], context: Mapping[str, Any]) -> Table | None:
        """The data as `model`; every place where it does not fit is noted.

        Where the faults lie in keys that may be left out, the rest is still returned, so that it can be
        looked through as well; None otherwise.
        """
        rest, noted = self.data, False
        for _ in range(MOST_ROUNDS):
            try:
                fit = model.model_validate(rest, context=dict(context))
            except ValidationError as error:
                found = error.errors(include_url=False)
                for each in () if noted else found:
                    self._refused(model, each)
                noted = True
                if any(map(_too_many, found)):
                    break
                rest = _without(rest, [_spare(each["loc"], each["type"]) for each in found])
                if rest is None:
                    break
            else:
                self.data = rest
                return fit
        return None

    def done(self) -> None:
        """BadInput with every fault noted, in the order of the file."""
        # What a table lacks may well be the key in it that was refused: said once that is mended.
        around = {path[:-1] for path, _ in self._noted}
        faults = dict.fromkeys(fault for path, fault in self._noted if path not in around)
        if faults:
            raise BadInput(*sorted(faults, key=lambda fault: fault.line or 0))

    def _refused(self, model: type[BaseModel], error: Any) -> None:
        path: Path = error["loc"]
        kind, context = error["type"], error.get("ctx", {})
        if path and path[-1] == "[key]":
            path = path[:-1]
            self.fault(path, "name_of_thing", name=path[-1])
        elif kind == "said":
            self._note(path, context["wrong"], context["mend"])
        elif kind == "extra_forbidden":
            self._unknown(model, path)
        elif kind == "missing":
            self.fault(path, _missing(model, path), key=path[-1])
        elif kind in _BOUNDS:
            bound = next(v for k, v in context.items() if k in ("ge", "gt", "le", "lt"))
            self.fault(path, _BOUNDS[kind], text=error["input"], least=bound, most=bound)
        elif kind == "literal_error":
            self.fault(
                path, "not_one_of", text=error["input"], names=context["expected"].replace(" or ", ", ")
            )
        elif kind in _KINDS:
            self.fault(path, _KINDS[kind])
        elif kind == "too_short" and not context["actual_length"]:
            self.fault(path, "empty")
        elif _too_many(error):
            self.fault(path, "too_many", most=context["max_length"])
        elif kind in ("too_short", "too_long"):
            wanted = context.get("min_length") or context.get("max_length")
            self.fault(path, "wrong_length", wanted=wanted, given=context["actual_length"])
        elif kind == "string_pattern_mismatch":
            self.fault(path, _PATTERNS.get(str(path[-1]), "name_of_thing"), name=error["input"])
        else:
            self.fault(path, "refused", reason=error["msg"])

    def _unknown(self, model: type[BaseModel], path: Path) -> None:
        known = _known(model, path[:-1])
        near = difflib.get_close_matches(str(path[-1]), known, n=1, cutoff=0.6)
        if near:
            self.fault(path, "unknown_near", key=path[-1], near=near[0])
        else:
            names = ", ".join(known[:MOST_NAMES]) + (", ..." if len(known) > MOST_NAMES else "")
            self.fault(path, "unknown", key=path[-1], names=names)

    def _note(self, path: Path, wrong: str, mend: str) -> None:
        self._noted.append((path, Fault(self.name, self._field(path), wrong, mend, self.lines.of(path))))

    def _field(self, path: Path) -> str:
        """The path as a farmer would look for it: list items by their id, else counted from 1."""
        field, here = "", typing.cast(Any, self.whole)
        for step in path:
            if isinstance(step, int):
                here = here[step] if isinstance(here, list) and step < len(here) else None
                name = here.get("id") if isinstance(here, dict) else None
                field += f".{name}" if isinstance(name, str) else f"[{step + 1}]"
            else:
                here = here.get(step) if isinstance(here, dict) else None
                field += f".{step}" if field else step
        return field


_BOUNDS = {
    "greater_than": "not_above",
    "greater_than_equal": "too_little",
    "less_than_equal": "too_much",
}
_KINDS = {
    "string_type": "not_text",
    "int_type": "not_number",
    "int_from_float": "not_number",
    "float_type": "not_number",
    "finite_number": "not_number",
    "bool_type": "not_true",
    "date_type": "not_date",
    "date_from_datetime_inexact": "not_date",
    "dict_type": "not_table",
    "model_type": "not_table",
    "model_attributes_type": "not_table",
    "tuple_type": "not_list",
    "list_type": "not_list",
    "string_too_short": "empty",
    "string_too_long": "name_of_thing",
}
_PATTERNS = {"name": "not_called", "currency": "not_currency", "language": "not_language"}


def open_page(text: Text) -> Page:
    """A TOML file of the farm. BadInput where it is no TOML."""
    try:
        return Page(text, tomllib.loads(text.text))
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise BadInput(_no_toml(text, str(error))) from None


def _no_toml(text: Text, message: str) -> Fault:
    lines = text.text.count("\n") + 1
    at = re.search(r"\(at line (\d+)", message)
    line = int(at.group(1)) if at else lines
    mend = next((key for part, key in _SYNTAX.items() if part in message), "syntax_mend")
    written = text.text.split("\n")[min(line, lines) - 1].strip()
    return Fault(text.name, "", say("farm.syntax", written=written[:80]), say(f"farm.{mend}"), line)


_SYNTAX = {
    "Cannot overwrite": "syntax_twice_mend",
    "Cannot declare": "syntax_twice_mend",
    "Duplicate": "syntax_twice_mend",
    "Invalid date": "syntax_date_mend",
    "Invalid value": "syntax_value_mend",
    "Expected '=' after a key": "syntax_equals_mend",
    "Unclosed": "syntax_closed_mend",
    "Illegal character": "syntax_closed_mend",
    "Expected newline": "syntax_line_mend",
}


def _too_many(error: Any) -> bool:
    """Whether an error is that of more tables of a kind than can be worked with."""
    return error["type"] == "too_long" and isinstance(error["input"][0], dict)


def _spare(path: Path, kind: str) -> Path:
    """What to leave out for the rest to fit: the key itself, or the table that lacks it."""
    return path[:-1] if kind == "missing" or path[-1] == "[key]" else path


def _without(data: Any, paths: Sequence[Path]) -> Any:
    """A copy of `data` that lacks the keys at `paths`; None where a list would lose an item, which would
    give its later items other numbers than they have in the file."""
    if any(not path or isinstance(path[-1], int) for path in paths):
        return None
    gone = {path[0] for path in paths if len(path) == 1}
    rest: Any = {} if isinstance(data, dict) else []
    for key, value in data.items() if isinstance(data, dict) else enumerate(data):
        inner = [path[1:] for path in paths if path[0] == key]
        if key not in gone:
            kept = _without(value, inner) if inner else value
            if isinstance(data, dict):
                rest[key] = kept
            else:
                rest.append(kept)
    return rest


def _missing(model: type[BaseModel], path: Path) -> str:
    """The sentence for a key that is missing: a value, a table, or tables with names."""
    inside = _at(model, path)
    if isinstance(inside, list):
        return "missing_named"
    return "missing_table" if isinstance(inside, type) and issubclass(inside, BaseModel) else "missing"


def _known(model: type[BaseModel], path: Path) -> list[str]:
    """The keys that a table at `path` may have."""
    here = _at(model, path)
    if not (isinstance(here, type) and issubclass(here, BaseModel)):
        return []
    return [f.alias or k for k, f in here.model_fields.items()]


def _at(model: type[BaseModel], path: Path) -> Any:
    """What a model has at `path`: a model, [model] for a table or list of them, or a plain type."""
    here: Any = model
    for step in path:
        if isinstance(here, list):
            here = here[0]
        elif isinstance(here, type) and issubclass(here, BaseModel):
            field = next((f for k, f in here.model_fields.items() if step == (f.alias or k)), None)
            here = None if field is None else _inner(field.annotation)
    return here


def _inner(annotation: Any) -> Any:
    """The model within Optional[model]; [model] for what dict[..., model] and tuple[model, ...] hold."""
    origin, arguments = typing.get_origin(annotation), typing.get_args(annotation)
    if origin in (dict, tuple):
        return [_inner(arguments[-1] if origin is dict else arguments[0])]
    if arguments:
        return next((_inner(a) for a in arguments if a is not type(None)), None)
    return annotation

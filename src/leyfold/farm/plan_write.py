"""A Plan put back into plan.toml: only what has changed is touched, so comments and order survive."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

import tomlkit
from tomlkit.items import AoT

from leyfold.farm.plan_file import PLAN_FILE, parse_plan
from leyfold.farm.texts import Text, Texts
from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Batch, Out, Plan, Stay

__all__ = ["plan_text", "write_plan"]


def write_plan(texts: Texts, farm: Farm, plan: Plan, expected_sha: str) -> Text:
    """Make plan.toml say `plan`, in place of the version with the fingerprint `expected_sha`.

    `plan` is a plan as read or dated, not one completed: what `season.complete` fills in is not written.
    BadInput, and nothing written, where the file has changed since or `plan` contradicts itself or the farm.
    """
    if plan.completed:
        raise ValueError("a completed plan holds reckoned stays: write the plan it was completed from")
    there = texts.read(PLAN_FILE)
    if there.sha != expected_sha:
        return texts.write(PLAN_FILE, there.text, expected_sha)  # refused there, in the same words
    before = parse_plan(there, farm)
    text = _edited(there.text, before, plan)
    after = parse_plan(Text(PLAN_FILE, text, ""), farm)
    if _said(after) != _said(plan):
        raise ValueError("this plan cannot be said in plan.toml")
    return texts.write(PLAN_FILE, text, expected_sha)


def plan_text(farm: Farm, plan: Plan, head: str = "") -> str:
    """A plan.toml of its own that says `plan` (not completed), below the comment `head`.

    BadInput where `plan` contradicts itself or the farm.
    """
    if plan.completed:
        raise ValueError("a completed plan holds reckoned stays: write the plan it was completed from")
    begun = "".join(f"# {line}\n" for line in head.splitlines())
    text = _edited(begun + "\n" if begun else "", Plan(()), plan)
    if _said(parse_plan(Text(PLAN_FILE, text, ""), farm)) != _said(plan):
        raise ValueError("this plan cannot be said in plan.toml")
    return text


def _said(plan: Plan) -> tuple[Any, ...]:
    """What plan.toml can say of a plan, in an order of its own."""
    batches = sorted((replace(b, fertile=None) for b in plan.batches), key=lambda b: b.id)
    return batches, sorted(plan.stays, key=lambda s: s.id), list(plan.outs), plan.first, plan.last


def _edited(text: str, before: Plan, after: Plan) -> str:
    page = tomlkit.parse(text)
    for key in ("first", "last"):
        if getattr(before, key) != getattr(after, key):
            _put(page, {key: getattr(after, key)})
    written = {s.id for s in _written_stays(page, before)}
    moved = _moved(before, after, written)
    old = {b.id: b for b in before.batches}
    for origin in ("set", "bought", "present"):
        rows = {
            b.id: _changes(_batch_keys(old[b.id]) if b.id in old else {}, _batch_keys(b))
            for b in after.batches
            if b.origin == origin
        }
        for name in moved & rows.keys():
            rows[name]["place"] = None
        _rows(page, origin, [b.id for b in before.batches if b.origin == origin], rows)
    placed = [s for s in after.stays if s.id in written or s.batch in moved or s not in before.stays]
    stays = {s.id: s for s in before.stays if s.id in written}
    rows = {s.id: _changes(_stay_keys(stays[s.id]) if s.id in stays else {}, _stay_keys(s)) for s in placed}
    _rows(page, "stay", [s.id for s in _written_stays(page, before)], rows)
    if before.outs != after.outs:
        page.pop("out", None)
        _rows(page, "out", [], {str(i): _out_keys(out) for i, out in enumerate(after.outs)})
    return tomlkit.dumps(page)


def _written_stays(page: Mapping[str, Any], plan: Plan) -> list[Stay]:
    """The stays under [[stay]], in the order of the file; those of `place` stand before them."""
    return list(plan.stays[len(plan.stays) - len(page.get("stay", ())) :])


def _moved(before: Plan, after: Plan, written: set[str]) -> set[str]:
    """Batches present whose `place` no longer says where they are."""
    return {s.batch for s in before.stays if s.id not in written and s not in after.stays}


def _batch_keys(batch: Batch) -> dict[str, Any]:
    keys: dict[str, Any] = {"id": batch.id, "line": batch.line}
    if batch.origin == "set":
        keys |= {"on": batch.set_on, "eggs": batch.eggs, "stored": _days(batch.stored_d)}
        keys["incubator"] = batch.incubator
    else:
        keys["on"] = batch.arrives_on
        age = (batch.arrives_on - batch.hatched_on).days
        keys |= {"age": _days(age)} if batch.origin == "bought" else {"hatched": batch.hatched_on}
        keys |= {f"{sex}s": heads or None for sex, heads in batch.heads.items()}
    return {
        **keys,
        "brooder": batch.brooder,
        "house": batch.house,
        "ring": batch.ring,
        "turnout": batch.turnout_on,
        "sort": batch.sort_on,
        "to_house": batch.house_on,
        "kill": [{"on": d.on, "share": d.share} for d in batch.drafts] or None,
    }


def _stay_keys(stay: Stay) -> dict[str, Any]:
    return {
        "id": stay.id,
        "batch": stay.batch,
        "sex": stay.sex,
        "place": stay.place,
        "from": stay.first,
        "until": stay.until,
        "heads": stay.heads,
    }


def _out_keys(out: Out) -> dict[str, Any]:
    return {"batch": out.batch, "on": out.on, "share": None if out.share == 1.0 else out.share}


def _days(number: int) -> str | None:
    return f"{number} days" if number else None


def _changes(before: Mapping[str, Any], after: Mapping[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in after.items() if value != before.get(key)}


# Keys that say the same thing in other words: written anew, they take the other's place.
_OTHER_WORDS = {"pullets": ("hens", "chicks"), "cockerels": ("chicks",), "hatched": ("age",)}


def _rows(page: Any, name: str, order: Iterable[str], rows: Mapping[str, Mapping[str, Any]]) -> None:
    """Bring the list of tables `name` to hold just `rows`: the id of each, and the keys to change in it."""
    there = list(order)
    for index in reversed(range(len(there))):
        if there[index] not in rows:
            del page[name][index]
            del there[index]
            if name == "stay":  # a stay without an id is called by its place in the list, which has moved
                for later in range(index, len(there)):
                    page[name][later].setdefault("id", there[later])
    for row_id, changes in rows.items():
        if row_id in there:
            _put(page[name][there.index(row_id)], changes)
        else:
            row = tomlkit.table()
            _put(row, changes)
            if name not in page:
                page.append(name, AoT([]))
            elif len(page[name]) and not page[name][-1].as_string().endswith("\n\n"):
                row.trivia.indent = "\n"
            elif name != list(page)[-1]:  # the line between it and what follows
                row.add(tomlkit.nl())
            page[name].append(row)
    if name in page and len(page[name]) == 0:
        del page[name]


def _put(table: Any, changes: Mapping[str, Any]) -> None:
    for key, value in changes.items():
        for other in _OTHER_WORDS.get(key, ()):
            table.pop(other, None)
        if value is None:
            table.pop(key, None)
        elif key == "kill":
            table[key] = _drafts(value)
        else:
            table[key] = value


def _drafts(drafts: Iterable[Mapping[str, Any]]) -> Any:
    whole = tomlkit.array()
    for draft in drafts:
        one = tomlkit.inline_table()
        one.update({k: v for k, v in draft.items() if k != "share" or v != 1.0})
        whole.append(one)
    return whole

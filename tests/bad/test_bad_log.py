"""Broken logs: each refused as a whole, by line, in plain words, with the mend. Every file in `log/` has its
sentence here."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from farms import farm
from leyfold.cli import main
from leyfold.log import fold, read
from leyfold.nouns.errors import BadInput
from logs import utc

FOLDER = Path(__file__).parent / "log"

BROKEN = {
    # the line
    "torn": (3, "the last line is cut off"),
    "not_json": (2, "not JSON"),
    "two_records_a_line": (2, "not JSON"),
    "no_who": (1, "the record has no who"),
    "odd_key": (1, "a record has no key place"),
    "key_twice": (1, "eggs is there twice"),
    "nan": (1, "NaN is not a number"),
    "id_by_hand": (1, "is no ULID"),
    "local_time": (1, "is no instant"),
    "no_such_day": (1, "is no instant"),
    "written_before_it_happened": (2, "was written down before that"),
    "changed_line": (4, "has another content in line 3"),
    # what the kind holds
    "heads_left_out": (4, "heads: it is not given"),
    "misspelt_field": (4, "head: this kind holds nothing of that name"),
    "half_a_bird": (4, "1.5 is not a whole number"),
    "quoted_number": (4, "'12' is not a number"),
    "nothing_dead": (4, "0 is below 1"),
    "grams": (4, "weights_kg.1: 230 is above 20"),
    "odd_sex": (4, "'hen' is not a choice here"),
    "no_age": (4, "need their age"),
    "moved_from_nowhere": (4, "which birds moved"),
    "correction_of_two_minds": (4, "takes a record back or says"),
    # what the records before it rule out
    "unknown_line": (1, 'called "speckled"'),
    "unknown_place": (4, 'called "s9"'),
    "unknown_bin": (4, 'called "silo"'),
    "no_batch": (4, 'no batch "b" yet'),
    "set_twice": (4, 'batch "a" was there before'),
    "more_fertile_than_set": (4, "61 fertile of 60 eggs set"),
    "more_chicks_than_fertile": (4, "55 chicks from 54 fertile eggs"),
    "more_chicks_than_eggs": (2, "61 chicks from 60 eggs set"),
    "hatched_in_a_week": (4, "due on 2027-01-26: a hatch on 2027-01-13 cannot be"),
    "hatched_twice": (4, "was hatched, or came, on 2027-01-26"),
    "candled_after_hatch": (4, "was hatched, or came, on 2027-01-26"),
    "dead_before_hatch": (4, "had not hatched yet"),
    "sorted_before_hatch": (4, "had not hatched yet"),
    "weighed_before_hatch": (4, "had not hatched yet"),
    "hatch_taken_back": (4, "had not hatched yet"),
    "more_dead_than_alive": (4, "51 birds of 50 by the book in a, east"),
    "more_moved_than_there": (4, "51 birds of 50 by the book in a, east"),
    "more_sorted_than_there": (4, "51 birds of 50 by the book in a, east"),
    "sorted_twice": (5, "no unsorted birds there"),
    "killed_where_none_stand": (4, "by the book no birds stood there: s3"),
    "moved_to_where_they_stand": (4, "the birds were in east before"),
    "which_of_two_groups": (5, "fits more than one group: a, cockerel, east; a, pullet, east"),
    "bought_under_a_name_taken": (4, "came before as set, now as bought"),
    "hatched_tomorrow": (4, "not hatched until 2027-02-02"),
    "present_twice": (5, "b, s1 were written down before"),
    "corrects_nothing": (4, "there is no record"),
    "corrects_a_correction": (5, "is itself a correction"),
}


@pytest.mark.parametrize("name", BROKEN)
def test_a_broken_log_is_refused_in_plain_words(name: str) -> None:
    line, words = BROKEN[name]
    with pytest.raises(BadInput) as error:
        fold(farm(), read((FOLDER / f"{name}.jsonl").read_text()), utc("2028-01-01 00:00"), strict=True)
    (fault,) = error.value.faults
    assert fault.file == "records.jsonl"
    assert fault.line == line
    assert words in str(fault)
    assert fault.mend.endswith(".")


def test_every_broken_log_has_its_sentence() -> None:
    assert {path.stem for path in FOLDER.iterdir()} == set(BROKEN)


def test_records_of_a_clock_that_runs_years_ahead_are_asked_about(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """They do not count, so a farm whose phone has the wrong year must be told where it looks for faults."""
    demo = Path(__file__).parents[2] / "examples" / "demo"
    for name in ("farm.toml", "plan.toml"):
        shutil.copy(demo / name, tmp_path)
    ahead = {
        "id": "01MNEQGPE05GWCS6BN35PFDQF3",
        "device": "phone",
        "who": "runa",
        "at": "2099-05-08T04:10:00Z",
        "entered": "2099-05-08T04:10:00Z",
        "kind": "note",
        "data": {"text": "x"},
    }
    (tmp_path / "records.jsonl").write_text(json.dumps(ahead) + "\n", encoding="utf-8")
    assert main(["check", str(tmp_path)]) == 0
    assert "Asked: The clock of phone runs ahead" in capsys.readouterr().out
    assert main(["check", str(tmp_path), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["data"]["questions"]

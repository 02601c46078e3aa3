"""Civil days and instants, on the days the clocks change."""

from __future__ import annotations

from datetime import UTC, date, datetime, time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from leyfold.nouns.clock import civil, instant, is_zone


def test_a_day_is_that_of_the_wall_calendar() -> None:
    at = datetime(2027, 3, 1, 22, 30, tzinfo=UTC)
    assert civil(at, "Europe/Helsinki") == date(2027, 3, 2)
    assert civil(at, "America/Halifax") == date(2027, 3, 1)


def test_a_skipped_time_is_after_the_jump_and_a_doubled_one_the_first() -> None:
    # 28 March 2027: 02:00 becomes 03:00; 31 October: 03:00 becomes 02:00 (IANA tz database).
    assert instant(date(2027, 3, 28), time(2, 30), "Europe/Stockholm") == datetime(
        2027, 3, 28, 1, 30, tzinfo=UTC
    )
    assert instant(date(2027, 10, 31), time(2, 30), "Europe/Stockholm") == datetime(
        2027, 10, 31, 0, 30, tzinfo=UTC
    )


@given(
    st.dates(date(1990, 1, 1), date(2037, 12, 31)),
    st.times(),
    st.sampled_from(["Europe/Stockholm", "America/Halifax", "Australia/Lord_Howe", "Asia/Kathmandu", "UTC"]),
)
def test_the_day_of_an_instant_is_the_day_it_was_made_from(day: date, at: time, zone: str) -> None:
    assert civil(instant(day, at, zone), zone) == day


def test_what_is_no_zone_or_no_instant() -> None:
    assert is_zone("Europe/Oslo")
    assert not is_zone("Europe/Nowhere")
    assert not is_zone("../etc")
    with pytest.raises(ValueError, match="offset"):
        civil(datetime(2027, 1, 1), "UTC")  # noqa: DTZ001
    with pytest.raises(KeyError):
        civil(datetime(2027, 1, 1, tzinfo=UTC), "Europe/Nowhere")

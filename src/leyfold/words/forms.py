"""Numbers and dates in the farm's language (CLDR patterns)."""

from __future__ import annotations

from datetime import date
from functools import lru_cache

__all__ = ["day", "day_and_month", "month", "number", "significant"]


@lru_cache(maxsize=4096)
def number(value: float, digits: int = 0, language: str = "en") -> str:
    """`value` to `digits` decimals, grouped and pointed as the language does."""
    from babel.numbers import format_decimal

    pattern = "#,##0" + ("." + "0" * digits if digits else "")
    return format_decimal(round(value, digits) + 0.0, pattern, locale=language)


def significant(value: float, figures: int, language: str = "en") -> str:
    """`value` to so many significant figures, whole numbers whole, without trailing zeros."""
    from math import floor, log10

    from babel.numbers import format_decimal

    size = floor(log10(abs(value))) if value else 0
    decimals = min(max(figures - 1 - size, 0), 12)
    pattern = "#,##0" + ("." + "#" * decimals if decimals else "")
    return format_decimal(round(value, decimals) + 0.0, pattern, locale=language)


def day(on: date, language: str = "en") -> str:
    """A date with its year, at medium length: 8 Jan 2027."""
    from babel.dates import format_date

    return format_date(on, "d MMM y", locale=language)


def day_and_month(on: date, language: str = "en") -> str:
    """A date without its year: 8 Jan."""
    from babel.dates import format_date

    return format_date(on, "d MMM", locale=language)


def month(on: date, language: str = "en") -> str:
    """The month alone, as on the top of a calendar page: Jan."""
    from babel.dates import format_date

    return format_date(on, "LLL", locale=language)

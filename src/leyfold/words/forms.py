"""Numbers and dates in the farm's language (CLDR patterns)."""

from __future__ import annotations

from datetime import date

__all__ = ["day", "day_and_month", "month", "number"]


def number(value: float, digits: int = 0, language: str = "en") -> str:
    """`value` to `digits` decimals, grouped and pointed as the language does."""
    from babel.numbers import format_decimal

    pattern = "#,##0" + ("." + "0" * digits if digits else "")
    return format_decimal(round(value, digits) + 0.0, pattern, locale=language)


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

"""Days on which a field is shut up for hay, as a land file writes them: the property `hay` of a field."""

from __future__ import annotations

from datetime import date, timedelta

from leyfold.ground.drawn import Drawn, refuse
from leyfold.ground.geojson import tidy
from leyfold.nouns.land import Span

__all__ = ["hay_of"]

A_DAY = timedelta(days=1)


def hay_of(d: Drawn, file: str) -> tuple[Span, ...]:
    """The spans of `2027-05-20/2027-07-05` (ISO 8601; both days counted), or of several with spaces between.
    BadInput for anything else."""
    raw = d.properties.get("hay")
    if raw is None or raw == "":
        return ()
    spans = []
    for part in raw.split() if isinstance(raw, str) else [""]:
        first, _, last = part.partition("/")
        try:
            span = Span(date.fromisoformat(first), date.fromisoformat(last) + A_DAY)
        except (ValueError, OverflowError):
            refuse(file, "hay", d.label, at="hay", value=tidy(raw) or "?")
        if span.until <= span.first:
            refuse(file, "hay", d.label, at="hay", value=tidy(raw) or "?")
        spans.append(span)
    return tuple(spans)

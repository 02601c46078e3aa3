"""Weather by the hour: every value knows whether it was measured, forecast, typical, or is not there.

Hour `i` is the hour from `start + i`. An unknown value is NaN with origin `none`, never zero.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Literal

from leyfold.nouns.figure import Figure

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Origins = NDArray[np.int8]

__all__ = ["ORIGINS", "VARIABLES", "Origin", "Source", "Variable", "Weather", "hour_of"]

Variable = Literal[
    "temperature_C", "dew_point_C", "wind_m_per_s", "gust_m_per_s", "cloud_share", "rain_mm", "global_w"
]
VARIABLES: tuple[Variable, ...] = (
    "temperature_C", "dew_point_C", "wind_m_per_s", "gust_m_per_s", "cloud_share", "rain_mm", "global_w",
)  # fmt: skip
"""Air and dew point at 1.5-2 m, wind at 10 m: means of the hour. Gust: the greatest of the hour. Cloud 0..1.
Rain: the hour's sum. global_w: sunlight on level ground [W/m2], mean of the hour."""

Origin = Literal["none", "typical", "forecast", "measured"]
ORIGINS: tuple[Origin, ...] = ("none", "typical", "forecast", "measured")
"""In the order of how much they are worth; arrays hold the place in this list."""


def hour_of(at: datetime) -> int:
    """Whole hours since 1970 in UTC up to `at`. ValueError without an offset."""
    if at.tzinfo is None:
        raise ValueError("an instant needs its offset from UTC")
    return int(at.timestamp() // 3600)


@dataclass(frozen=True, slots=True, eq=False)
class Weather:
    """`first_hour`: hours since 1970 in UTC of hour 0. `values` and `origins` [hour] by variable, all of one
    length. `notes` are sentences on what was found wanting; `issued` when the forecast in it was fetched.
    `departure_K`: how far the last day's measured temperatures lay off the typical; None where too few were
    measured."""

    first_hour: int
    values: Mapping[Variable, Floats]
    origins: Mapping[Variable, Origins]
    notes: tuple[str, ...] = ()
    issued: datetime | None = None
    departure_K: float | None = None

    def __post_init__(self) -> None:
        lengths = {len(a) for a in self.values.values()} | {len(a) for a in self.origins.values()}
        if set(self.values) != set(VARIABLES) or set(self.origins) != set(VARIABLES) or len(lengths) != 1:
            raise ValueError("weather needs every variable, over the same hours")
        for name in VARIABLES:
            value = self.values[name]
            if ((value != value) != (self.origins[name] == 0)).any():
                raise ValueError(f"{name}: what is not known must be NaN of origin none, and nothing else")

    @property
    def hours(self) -> int:
        return len(self.values["temperature_C"])

    @property
    def start(self) -> datetime:
        return datetime.fromtimestamp(self.first_hour * 3600, UTC)

    def at(self, hour: int) -> datetime:
        return self.start + timedelta(hours=hour)

    def index(self, at: datetime) -> int:
        """The hour that holds the instant; below 0 or beyond `hours` outside the series."""
        return hour_of(at) - self.first_hour

    def origin(self, name: Variable, hour: int) -> Origin:
        return ORIGINS[int(self.origins[name][hour])]


@dataclass(frozen=True, slots=True)
class Source:
    """Where a farm's weather comes from, as its file says.

    `forecast_url`: the address of a forecast, None: nothing is ever fetched. `files`: measured or typical
    years beside farm.toml, later ones first. `columns`: heading in a file to a variable with its unit
    ("temperature_C"). `zone`: of clocks in the files that say none. `day_first`: how 3/4/2027 is meant, None:
    found from the file. `climate`: what a typical hour is made of.
    """

    forecast_url: str | None = None
    files: tuple[str, ...] = ()
    columns: Mapping[str, str] = field(default_factory=dict)
    zone: str | None = None
    day_first: bool | None = None
    climate: Mapping[str, Figure] = field(default_factory=dict)

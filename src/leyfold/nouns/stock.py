"""The birds kept: one stock line, what its pullets, cockerels and hens are like.

Field names equal the entries of the cited table `farm/tables/stock.toml`; every leaf is a `Figure`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from leyfold.nouns.figure import Figure

__all__ = ["SEXES", "Feed", "FeedPhase", "Growth", "Hen", "Line", "Sex", "SexTraits"]

Sex = Literal["pullet", "cockerel"]
SEXES: tuple[Sex, Sex] = ("pullet", "cockerel")


@dataclass(frozen=True, slots=True)
class Growth:
    """A growth curve in days and kg. `model` is gompertz, logistic or richards; `rate_per_d` is the
    rate at the inflection form of each (logistic: 1/scale); `shape` serves richards alone."""

    model: Literal["gompertz", "logistic", "richards"]
    mature_kg: Figure
    rate_per_d: Figure
    inflection_d: Figure
    shape: Figure | None = None


@dataclass(frozen=True, slots=True)
class SexTraits:
    """What differs between the pullets and the cockerels of a line."""

    growth: Growth
    weight_cv: Figure
    batch_weight_cv: Figure
    survival_grower: Figure
    maintenance_kg_per_kg075: Figure
    per_gain_kg_per_kg: Figure
    waste_share: Figure
    cold_share: Figure
    water_l_per_kg: Figure
    water_slope_per_K: Figure
    water_base_C: Figure
    nitrogen_per_gain: Figure
    phosphorus_per_gain: Figure
    potassium_per_gain: Figure


@dataclass(frozen=True, slots=True)
class Hen:
    """What holds from point of lay on."""

    survival_hen_year: Figure
    lay_a: Figure
    lay_b_per_wk: Figure
    lay_c_per_wk: Figure
    lay_d_wk: Figure
    light_needed_h: Figure
    light_dark_h: Figure
    light_full_h: Figure
    lay_share_at_dark: Figure
    egg_p_g: Figure
    egg_q_g: Figure
    egg_r_per_wk: Figure
    nitrogen_per_egg_kg: Figure
    phosphorus_per_egg_kg: Figure
    potassium_per_egg_kg: Figure
    night_share_of_dung: Figure


@dataclass(frozen=True, slots=True)
class Feed:
    """A feed as bought or mixed, shares by weight as fed. What is None is not known: its price, the kg in a
    bag, its calcium, the kg in store in bags when the season begins, the days from order to delivery."""

    id: str
    protein: Figure
    energy_kcal_per_kg: Figure
    phosphorus: Figure
    potassium: Figure
    price_per_kg: float | None = None
    bag_kg: float | None = None
    calcium: Figure | None = None
    has_kg: float | None = None
    delivery_d: int | None = None


@dataclass(frozen=True, slots=True)
class FeedPhase:
    """From age `from_d` on (of `sex`, or of both where None) the birds eat `feed`. `weighs_kg` is the mean
    weight the change is meant for, where the farm says one."""

    feed: str
    from_d: int
    sex: Sex | None = None
    weighs_kg: float | None = None


@dataclass(frozen=True, slots=True)
class Line:
    """A stock line: eggs, hatch, ages of the stages, then the traits by sex and as hens."""

    id: str
    name: str
    egg_weight_g: Figure
    fertility: Figure
    hatch_of_fertile: Figure
    hatch_concentration: Figure
    incubation_d: Figure
    storage_free_d: Figure
    storage_loss_per_d: Figure
    storage_late_from_d: Figure
    storage_late_loss_per_d: Figure
    storage_most_d: Figure
    share_pullets: Figure
    survival_first_week: Figure
    survival_brooder: Figure
    survival_shelter: Figure
    loss_concentration: Figure
    turnout_d: Figure
    sort_d: Figure
    kill_d: Figure
    house_d: Figure
    point_of_lay_d: Figure
    dressing_share: Figure
    pullet: SexTraits
    cockerel: SexTraits
    hen: Hen
    feeding: tuple[FeedPhase, ...]

    def of(self, sex: Sex) -> SexTraits:
        return self.pullet if sex == "pullet" else self.cockerel

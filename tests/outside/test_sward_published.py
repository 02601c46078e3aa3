"""Our LINGRA against a second implementation (`pcse` 6.0.13) and the printed rows of its published run."""

from __future__ import annotations

import warnings
from datetime import date, timedelta
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from leyfold.nature.sward import RYEGRASS, Sward, sward_schapendonk_1998

pcse = pytest.importorskip("pcse")

# Mow days of the year and the cover left, kg DM/ha; soil of the published check run.
MOWN, LEFT, YEAR = (135, 165, 200, 240, 280), 320.0, 1983
SOIL = {
    "SMFCF": 0.30,
    "SMW": 0.104,
    "SM0": 0.41,
    "RDMSOL": 40,
    "CRAIRC": 0.05,
    "SOPE": 10,
    "KSUB": 10,
    "K0": 10,
}
SITE = {"WAV": 10, "NOTINF": 0, "SMLIM": 0.4, "SSI": 0, "SSMAX": 0, "IFUNRN": 0}


def grass_of_pcse() -> dict[str, Any]:
    """Our ryegrass under the names of the other implementation."""
    g, s = RYEGRASS, Sward()
    return {
        "LAIinit": s.leaf_area,
        "TillerNumberinit": s.tillers_per_m2,
        "WeightREinit": s.reserves_kg_per_ha,
        "WeightRTinit": s.roots_kg_per_ha,
        "LAIcrit": g.critical_leaf_area,
        "RDRbase": g.death_base,
        "RDRshading": g.death_shading,
        "RDRdrought": g.death_drought,
        "SLA": g.leaf_area_ha_per_kg,
        "TempBase": g.base_C,
        "PartitioningRootsTB": [0, g.roots_share_dry, 1, g.roots_share_wet],
        "TSUMmax": g.degree_days_most,
        "KDIFTB": [0, g.extinction, 2, g.extinction],
        "CO2A": 360,
        "LUEreductionSoilTempTB": [-50, 0, g.soil_range_C[0], 0, g.soil_range_C[1], 1, 50, 1],
        "LUEreductionRadiationTB": [
            0,
            1,
            g.radiation_range_mj[0],
            1,
            g.radiation_range_mj[1],
            g.radiation_least,
        ],
        "LUEmax": g.light_use_g_per_mj,
        "SiteFillingMax": g.site_filling_most,
        "TillerFormRateA0": g.tillering_after_cut[0],
        "TillerFormRateB0": g.tillering_after_cut[1],
        "TillerFormRateA8": g.tillering_later[0],
        "TillerFormRateB8": g.tillering_later[1],
        "TemperatureSoilinit": s.soil_C,
        "RDI": 10,
        "RRI": 0,
        "RDMCR": 40,
        "DEPNR": 3,
        "IAIRDU": 0,
        "CFET": 1,
        "IOX": 0,
    }


@cache
def other(water_limited: bool) -> tuple[list[dict[str, Any]], np.ndarray, np.ndarray]:
    """Daily output of the other implementation; mean temperature and radiation of its weather."""
    from pcse.base import ParameterProvider
    from pcse.input import CABOWeatherDataProvider
    from pcse.models import Lingra10_PP, Lingra10_WLP_CWB

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        weather = CABOWeatherDataProvider("NL1", str(Path(pcse.__file__).parent / "tests" / "test_data"))
        new_year = date(YEAR, 1, 1)
        events = [{new_year + timedelta(days=d - 1): {"biomass_remaining": LEFT}} for d in MOWN]
        calendar = {
            "crop_name": "rye",
            "variety_name": "rye",
            "crop_start_date": new_year,
            "crop_start_type": "sowing",
            "crop_end_date": date(YEAR, 12, 31),
            "crop_end_type": "harvest",
            "max_duration": 400,
        }
        mowing = {"event_signal": "mowing", "name": "mow", "comment": "", "events_table": events}
        agro = [{new_year: {"CropCalendar": calendar, "TimedEvents": [mowing], "StateEvents": None}}]
        make = Lingra10_WLP_CWB if water_limited else Lingra10_PP
        known = ParameterProvider(cropdata=grass_of_pcse(), soildata=SOIL, sitedata=SITE)
        model = make(known, weather, agro)
        model.run_till_terminate()
    rows = model.get_output()
    drivers = [weather(row["day"]) for row in rows]
    return rows, np.array([d.TEMP for d in drivers]), np.array([d.IRRAD / 1e6 for d in drivers])


@pytest.mark.parametrize("water_limited", [False, True])
def test_a_year_equals_the_second_implementation(water_limited: bool) -> None:
    rows, mean, light = other(water_limited)
    # Their reduction of transpiration is taken as given: what is checked is the grass, not a soil.
    water = np.array([1.0 if row["RFTRA"] is None else row["RFTRA"] for row in rows])
    assert (water.min() < 0.5) == water_limited
    got = sward_schapendonk_1998(mean, light, cuts={d - 1: LEFT for d in MOWN}, water=water)
    days = slice(0, 360)
    for ours, theirs in (
        (got.leaf_area, "LAI"),
        (got.green_kg_per_ha, "WeightLVgreen"),
        (got.tillers_per_m2, "TillerNumber"),
        (got.reserves_kg_per_ha, "WeightRE"),
    ):
        assert ours[days] == pytest.approx([row[theirs] for row in rows[days]], rel=1e-9, abs=1e-9)
    harvested = float(got.taken_kg_per_ha.sum())
    assert harvested == pytest.approx(rows[-1]["WeightHARV"], rel=1e-9)


def test_published_rows_of_the_check_year() -> None:
    # Haarweg 1983, potential: 2 and 3 January, season harvested and total, regrowth after the cut of 15 May.
    _, mean, light = other(False)
    got = sward_schapendonk_1998(mean, light, cuts={d - 1: LEFT for d in MOWN})
    assert got.leaf_area[1] == pytest.approx(0.099005, abs=5e-7)
    assert got.tillers_per_m2[1] == pytest.approx(7042.462, abs=5e-4)
    assert got.reserves_kg_per_ha[1] == pytest.approx(200.988838, abs=5e-7)
    assert got.green_kg_per_ha[2] == pytest.approx(49.630814, abs=5e-7)
    taken = float(got.taken_kg_per_ha.sum())
    assert taken == pytest.approx(14522.6, abs=0.05)
    assert taken + got.green_kg_per_ha[-1] == pytest.approx(15643.1, abs=0.05)
    once = sward_schapendonk_1998(mean, light, cuts={134: LEFT})
    regrown = [
        353,
        674,
        932,
        1076,
        1601,
        2211,
        2699,
        3088,
        3249,
        3600,
        3744,
        3742,
        3799,
        3981,
        4148,
        4250,
        4319,
    ]
    assert once.green_kg_per_ha[136:204:4] == pytest.approx(regrown, abs=0.5)

"""The sun's place, rising and light against NREL's algorithm, a second almanac and pvlib's models."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pandas as pd
import pvlib
import pytest
from scipy.integrate import quad

from leyfold.nature import light, sun


def unix(times):
    return times.as_unit("ns").astype("int64").to_numpy() / 1e9


@pytest.mark.parametrize(("latitude", "longitude"), [(45, 0), (57, -160), (-30, 140), (0, 20), (71, 12)])
def test_position_against_spa(latitude, longitude):
    """pvlib's SPA (Reda & Andreas 2004) through a leap year and a common one, zenith without refraction."""
    times = pd.date_range("2024-01-01", "2026-01-01", freq="407min", tz="UTC")
    spa = pvlib.solarposition.get_solarposition(times, latitude, longitude, method="nrel_numpy")
    ours = sun.sun_position(latitude, longitude, unix(times))
    np.testing.assert_allclose(ours.zenith_deg, spa.zenith, atol=0.02)
    off = np.abs((ours.azimuth_deg - spa.azimuth.to_numpy() + 180) % 360 - 180)
    assert np.max(off * np.sin(np.radians(ours.zenith_deg))) < 0.02


def test_nrel_example():
    """Reda & Andreas 2004, appendix A.5: 2003-10-17 12:30:30 UTC-7, 39.742476 N 105.1786 W. Zenith 50.11162
    is with refraction (0.016) and parallax; azimuth 194.34024; sunrise 06:12:43, transit 11:46:04, sunset
    17:20:19, which by its date in UTC is that of the evening before."""
    at = dt.datetime(2003, 10, 17, 19, 30, 30, tzinfo=dt.UTC).timestamp()
    zenith, azimuth = sun.sun_position(39.742476, -105.1786, at)
    assert zenith == pytest.approx(50.11162 + 0.016, abs=0.01)
    assert azimuth == pytest.approx(194.34024, abs=0.01)
    midnight = dt.datetime(2003, 10, 17, 7, tzinfo=dt.UTC).timestamp()
    printed = [6 * 3600 + 12 * 60 + 43, 11 * 3600 + 46 * 60 + 4, 17 * 3600 + 20 * 60 + 19]
    got = np.array(sun.rise_and_set(39.742476, -105.1786, midnight + 43200)) - midnight
    got[2] = sun.rise_and_set(39.742476, -105.1786, midnight - 43200).set_s - (midnight - 86400)
    np.testing.assert_allclose(got, printed, atol=6)


@pytest.mark.parametrize("latitude", [-50, 30, 45, 57, 60])
def test_rise_and_set_against_spa(latitude):
    days = pd.date_range("2024-01-01", "2024-12-31", freq="5D", tz="UTC")
    spa = pvlib.solarposition.sun_rise_set_transit_spa(days, latitude, 0.0)
    ours = sun.rise_and_set(latitude, 0.0, unix(days) + 43200)
    for got, column in zip(ours, ("sunrise", "transit", "sunset"), strict=True):
        np.testing.assert_allclose(got, unix(pd.DatetimeIndex(spa[column])), atol=10)


def test_rise_and_set_against_astral():
    """astral 3.2, an almanac with a refraction of its own: within a minute."""
    from astral import Observer
    from astral.sun import sun as almanac

    for latitude, day in (
        (45, dt.date(2024, 3, 20)),
        (57, dt.date(2024, 6, 20)),
        (60, dt.date(2024, 12, 21)),
    ):
        theirs = almanac(Observer(latitude, 0.0, 0.0), date=day, tzinfo=dt.UTC)
        noon = dt.datetime.combine(day, dt.time(12), dt.UTC).timestamp()
        ours = sun.rise_and_set(latitude, 0.0, noon)
        assert ours.rise_s == pytest.approx(theirs["sunrise"].timestamp(), abs=60)
        assert ours.set_s == pytest.approx(theirs["sunset"].timestamp(), abs=60)


def test_the_day_belongs_to_the_place():
    """Any instant within the local civil day gives that day's sun, wherever it is."""
    for longitude in (-179.0, -75.0, 0.0, 133.0, 179.0):
        noon = dt.datetime(2026, 5, 4, 12, tzinfo=dt.UTC).timestamp() - longitude * 240
        days = [sun.rise_and_set(50.0, longitude, noon + h * 3600).set_s for h in (-11, 0, 11)]
        assert max(days) - min(days) < 1e-3
        assert 0 < days[0] - noon < 9 * 3600


def test_polar_day_and_night():
    june = dt.datetime(2026, 6, 21, 12, tzinfo=dt.UTC).timestamp()
    day, night = sun.rise_and_set(75, 0, june), sun.rise_and_set(-75, 0, june)
    assert day.set_s - day.rise_s == pytest.approx(86400, abs=60)
    assert night.set_s == night.rise_s == pytest.approx(float(night.noon_s))


def test_clear_sky_and_split_against_pvlib():
    """pvlib's Haurwitz, Spencer and Erbs."""
    zenith = np.linspace(0, 95, 60)
    haurwitz = pvlib.clearsky.haurwitz(pd.Series(zenith)).ghi
    np.testing.assert_allclose(light.haurwitz_1945_w(zenith), haurwitz, atol=0.02)
    days = np.arange(1, 367)
    spencer = pvlib.irradiance.get_extra_radiation(days, solar_constant=1366.1, method="spencer")
    np.testing.assert_allclose(light.extraterrestrial_w(days), spencer, rtol=1e-6)
    ghi, at, day = (a.ravel() for a in np.meshgrid([0, 40, 200, 500, 950], np.linspace(5, 86, 9), [15, 180]))
    erbs = pvlib.irradiance.erbs(ghi, at, day)
    ours = light.beam_and_diffuse_w(ghi, at, day)
    np.testing.assert_allclose(ours.diffuse_w, erbs["dhi"], rtol=2e-3, atol=0.01)
    np.testing.assert_allclose(ours.direct_w, erbs["dni"], rtol=5e-3, atol=0.5)


def test_low_sun_is_all_sky():
    """Under 3 degrees pvlib's Erbs gives no beam, and all the light to the sky."""
    ours = light.beam_and_diffuse_w([30.0, 12.0], [87.5, 90.5], 100)
    theirs = pvlib.irradiance.erbs(np.array([30.0, 12.0]), np.array([87.5, 90.5]), 100)
    np.testing.assert_allclose(ours.direct_w, theirs["dni"], atol=1e-12)
    np.testing.assert_allclose(ours.diffuse_w, theirs["dhi"], atol=1e-12)


def test_clear_noon_values():
    """Haurwitz at printed zeniths (pvlib 0.16.1), 20 March and 21 December, 45 and 57 N."""
    np.testing.assert_allclose(
        light.haurwitz_1945_w([44.8679, 21.5593, 80.3491]), [716.0, 958.4, 129.5], atol=0.06
    )


def test_split_on_a_real_year():
    """A typical year at 36 N (TMY3 723170): Erbs from its global light gives its diffuse within 12 %."""
    table, meta = pvlib.iotools.read_tmy3(
        f"{pvlib.__path__[0]}/data/723170TYA.CSV", map_variables=True, coerce_year=2023
    )
    at = unix(pd.DatetimeIndex(table.index.tz_convert("UTC"))) - 1800
    zenith = sun.sun_position(meta["latitude"], meta["longitude"], at).zenith_deg
    split = light.beam_and_diffuse_w(table.ghi, zenith, table.index.day_of_year.to_numpy())
    assert split.diffuse_w.sum() == pytest.approx(table.dhi.sum(), rel=0.12)
    up = zenith < 87
    recovered = split.direct_w * np.cos(np.radians(zenith)) + split.diffuse_w
    np.testing.assert_allclose(recovered[up], table.ghi[up], atol=1e-9)


def test_cloud_of_kasten_and_czeplak_1980():
    """Solar Energy 24:177: overcast leaves a quarter; half cloud 0.929 (0.75 x 0.5^3.4 by hand)."""
    np.testing.assert_allclose(light.clouded_kasten_czeplak_1980([0, 0.5, 1]), [1, 0.92895, 0.25], atol=1e-4)


def test_light_on_a_cylinder_by_quadrature():
    """The beam over every facet of lid and side, and the worked sum 42.474 + 34.021 + 10.153 + 14.768 W."""
    wide, high, zenith = 0.26, 0.226, 40.0
    parts = {"diameter_m": wide, "height_m": high}
    beam = light.on_cylinder_w(0, 900.73, 0, zenith, **parts)
    facet = lambda phi: 900.73 * max(np.cos(phi) * np.sin(np.radians(zenith)), 0.0) * high * wide / 2  # noqa: E731
    assert beam == pytest.approx(quad(facet, -np.pi, np.pi, limit=200)[0], rel=1e-6)
    whole = light.on_cylinder_w(800, 900.73, 110, zenith, **parts)
    assert whole == pytest.approx(42.474 + 34.021 + 10.153 + 14.768, abs=2e-3)
    assert light.on_cylinder_w(800, 900.73, 110, zenith, reflected_share=0.5, **parts) == pytest.approx(
        123.568, abs=2e-3
    )

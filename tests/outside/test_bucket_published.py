"""The header bucket against root finders, an ODE solver, closed forms and two years of real weather."""

from __future__ import annotations

from math import pi

import numpy as np
import pandas as pd
import pvlib
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from leyfold.nature import air, bucket, light, sun
from leyfold.nature.bucket import Surroundings, follow

SIZE = {"diameter_m": 0.26, "height_m": 0.226}
TOP, SIDE = pi * 0.26**2 / 4, pi * 0.26 * 0.226
SHELL = 0.6 * 1900.0  # 0.6 kg of polythene
SIGMA = 5.670374419e-8

# A 12 L bucket, 800 W/m2 with the sun 40 degrees from overhead, 25 °C, 2 m/s, Swinbank's sky, grass (0.2)
# below: the balance solved by an independent script for McAdams's and Watmuff's films, and for McAdams's
# over a bright roof (0.5).
WORKED = {
    0.25: (28.381, 29.436, 29.612),
    0.40: (31.751, 33.826, 33.699),
    0.55: (35.088, 38.141, 37.736),
    0.65: (37.294, 40.978, 40.400),
    0.95: (43.823, 49.298, 48.264),
}


def gain_w(celsius, absorbed, t_air, t_sky, film, emissivity=0.9):
    """The balance written out again, in watts."""
    t, a, s = celsius + 273.15, t_air + 273.15, t_sky + 273.15
    lost = film * (TOP + SIDE) * (t - a)
    lost += emissivity * SIGMA * ((TOP + SIDE / 2) * (t**4 - s**4) + SIDE / 2 * (t**4 - a**4))
    return absorbed - lost


def incident(reflected=0.2):
    return light.on_cylinder_w(800, 900.73, 110, 40, reflected_share=reflected, **SIZE)


@pytest.mark.parametrize("absorptance", WORKED)
def test_where_the_water_comes_to_rest(absorptance):
    sky = float(air.swinbank_1963_sky_C(25))
    for printed, reflected, film in zip(
        WORKED[absorptance], (0.2, 0.2, 0.5),
        (air.mcadams_1954_film(2), air.watmuff_1977_film(2), air.mcadams_1954_film(2)), strict=True,
    ):  # fmt: skip
        absorbed = absorptance * incident(reflected)
        ours = bucket.stand_C(Surroundings(absorbed, 25, sky, film), **SIZE)
        root = brentq(gain_w, -20, 90, args=(absorbed, 25, sky, film), xtol=1e-12)
        assert ours == pytest.approx(root, abs=1e-8)
        assert ours == pytest.approx(printed, abs=1e-3)


def test_time_constant():
    """12 L white or black in McAdams's film: 3.18 and 3.03 h; 4.15 and 3.84 in Watmuff's, by a numerical
    slope of the balance written out again."""
    for absorptance, film, printed in (
        (0.25, 13.3, 3.18),
        (0.95, 13.3, 3.03),
        (0.25, 8.8, 4.15),
        (0.95, 8.8, 3.84),
    ):
        sky = float(air.swinbank_1963_sky_C(25))
        around = Surroundings(absorptance * incident(), 25, sky, film)
        at = bucket.stand_C(around, **SIZE)
        hours = bucket.time_constant_h(at, 12, around, shell_j_per_K=SHELL, **SIZE)
        args = (absorptance * incident(), 25, sky, film)
        slope = (gain_w(at - 0.01, *args) - gain_w(at + 0.01, *args)) / 0.02
        assert hours == pytest.approx((12 * 4186 + SHELL) / slope / 3600, rel=1e-6)
        assert hours == pytest.approx(printed, abs=6e-3)


UA = 4.44730


def linear(absorbed, steps=1):
    """Surroundings with no radiation: the loss is UA (T - 25), a straight line."""
    film = UA / (TOP + SIDE)
    return Surroundings(np.full(steps, absorbed), 25.0, 25.0, film, 0.0)


@pytest.mark.parametrize("step_h", [0.25, 1.0, 8.0])
def test_any_step_is_exact_for_a_straight_loss(step_h):
    """T = Tss + (T0 - Tss) e^(-t/tau), also when one step spans eight hours."""
    steps = int(8 / step_h)
    run = follow(
        linear(15.1125, steps), step_h=step_h, wanted_l=0, start_l=12, start_C=12, holds_l=12,
        shell_j_per_K=SHELL, **SIZE,
    )  # fmt: skip
    rest, tau_s = 25 + 15.1125 / UA, (12 * 4186 + SHELL) / UA
    exact = rest + (12 - rest) * np.exp(-np.arange(steps + 1) * step_h * 3600 / tau_s)
    np.testing.assert_allclose(run.water_C[0], exact, atol=1e-9)


@pytest.mark.parametrize("step_h", [0.25, 1.0, 11.0])
def test_draining_is_exact_for_a_straight_loss(step_h):
    """A level falling by q litres an hour: T - Tss = (T0 - Tss) (C/C0)^(UA/(q c)), C the heat held."""
    steps, q = round(11 / step_h), 1.0
    run = follow(
        linear(86.1038, steps), step_h=step_h, wanted_l=q * step_h, start_l=12, start_C=12, holds_l=12,
        shell_j_per_K=SHELL, **SIZE,
    )  # fmt: skip
    rest = 25 + 86.1038 / UA
    held = (12 - q * np.arange(steps + 1) * step_h) * 4186 + SHELL
    exact = rest + (12 - rest) * (held / held[0]) ** (UA / (q / 3600 * 4186))
    np.testing.assert_allclose(run.water_C[0], exact, atol=1e-8)
    np.testing.assert_allclose(run.water_l[0], 12 - q * np.arange(steps + 1) * step_h, atol=1e-12)


@pytest.mark.parametrize(
    ("absorptance", "printed"),
    [
        (0.25, [16.348, 19.556, 21.917, 23.650, 24.921, 25.852, 26.533, 27.031]),
        (0.95, [20.637, 26.988, 31.631, 35.010, 37.462, 39.237, 40.519, 41.444]),
    ],
)
def test_full_balance_from_12_degrees(absorptance, printed):
    """Hours 1 to 8 by an independent script, and by solve_ivp here: within 0.002 K at quarter hours."""
    sky, absorbed = float(air.swinbank_1963_sky_C(25)), float(absorptance * incident())
    run = follow(
        Surroundings(np.full(32, absorbed), 25, sky, 13.3), step_h=0.25, wanted_l=0, start_l=12, start_C=12,
        holds_l=12, shell_j_per_K=SHELL, **SIZE,
    )  # fmt: skip
    hourly = run.water_C[0, 4::4]
    np.testing.assert_allclose(hourly, printed, atol=2e-3)
    solved = solve_ivp(
        lambda _, y: [gain_w(y[0], absorbed, 25, sky, 13.3) / (12 * 4186 + SHELL)],
        (0, 8 * 3600), [12.0], t_eval=np.arange(1, 9) * 3600.0, rtol=1e-9, atol=1e-9,
    )  # fmt: skip
    np.testing.assert_allclose(hourly, solved.y[0], atol=2e-3)


@pytest.mark.parametrize("absorptance", [0.25, 0.95])
def test_a_day_of_birds_and_sun_against_an_ode_solver(absorptance):
    """Quarter hours of changing sun, wind and air, drunk down and filled at noon. solve_ivp walks the same
    steps with level and full radiation: within 0.1 K, that is within 1 % of the day's rise."""
    hours = np.arange(0, 24, 0.25) + 0.125
    absorbed = absorptance * 120 * np.maximum(np.sin((hours - 5) / 15 * pi), 0)
    t_air, film = 18 - 7 * np.cos((hours - 3) / 12 * pi), 8 + 4 * np.sin(hours) ** 2
    sky = t_air - 14
    drink = np.where((hours > 5) & (hours < 20), 0.22, 0.0)
    pour = np.where(np.isclose(hours, 12.125), 6.0, 0.0)
    run = follow(
        Surroundings(absorbed, t_air, sky, film), step_h=0.25, wanted_l=drink, start_l=12, start_C=12,
        holds_l=12, shell_j_per_K=SHELL, poured_l=pour, poured_C=11, **SIZE,
    )  # fmt: skip
    at, level = 12.0, 12.0
    for i in range(len(hours)):
        poured = min(pour[i], 12 - level)
        held = level * 4186 + SHELL
        at = (held * at + poured * 4186 * 11) / (held + poured * 4186)
        level += poured
        start, rate = level, drink[i] / 900
        at = solve_ivp(
            lambda t, y, i=i, start=start, rate=rate: [
                gain_w(y[0], absorbed[i], t_air[i], sky[i], film[i]) / ((start - rate * t) * 4186 + SHELL)
            ],
            (0, 900), [at], rtol=1e-8, atol=1e-8,
        ).y[0, -1]  # fmt: skip
        level -= drink[i]
        assert run.water_C[0, i + 1] == pytest.approx(at, abs=0.01)
        assert run.water_l[0, i + 1] == pytest.approx(level, abs=1e-9)
    assert run.water_C.max() > 24


def test_filling_up_mixes():
    assert bucket.mixed_C(3, 30, 9, 12) == pytest.approx(16.5)
    run = follow(
        linear(0.0), step_h=1e-6, wanted_l=0, start_l=3, start_C=30, holds_l=12, poured_l=20, poured_C=12,
        shell_j_per_K=1.0, **SIZE,
    )  # fmt: skip
    assert run.poured_l[0, 0] == 9
    assert run.water_C[0, 1] == pytest.approx(16.5, abs=1e-3)


def test_how_long_water_lasts():
    """72 birds at 35 days drink 13.31 L a day (Pesti et al. 1985: 5.28 mL times age): over a 16 h day 12 L
    last 14.4 h; at 28 days 18.0 drinking hours, at 42 days 12.0."""
    for age, printed in ((28, 18.0), (35, 14.43), (42, 12.02)):
        per_h = 5.28e-3 * age * 72 / 16
        run = follow(
            linear(0.0, 96), step_h=0.25, wanted_l=per_h / 4, start_l=12, start_C=12, holds_l=12, **SIZE
        )
        assert bucket.hours_until_dry(run, step_h=0.25)[0] == pytest.approx(printed, abs=0.05)
        assert bucket.hours_until_dry(run, step_h=0.25)[0] == pytest.approx(12 / per_h, abs=1e-9)


def test_frost_free_watts():
    """Job sum: loss times (2 - Tmin)."""
    np.testing.assert_allclose(bucket.frost_free_w([-8, 2, 5], loss_w_per_K=4.5), [45, 0, 0])


def year(name, months=(5, 9)):
    table, meta = pvlib.iotools.read_tmy3(
        f"{pvlib.__path__[0]}/data/{name}", map_variables=True, coerce_year=2023
    )
    at = pd.DatetimeIndex(table.index.tz_convert("UTC")).as_unit("ns").astype("int64").to_numpy() / 1e9
    zenith = sun.sun_position(meta["latitude"], meta["longitude"], at - 1800).zenith_deg
    taken = np.asarray((table.index.month >= months[0]) & (table.index.month <= months[1]))
    wind = air.wind_at_m_per_s(table.wind_speed, 1.0)
    sky = air.berdahl_martin_1984_sky_C(
        table.temp_air, table.temp_dew, cloud_share=table["TotCld (tenths)"] / 10
    )
    sun_w = light.on_cylinder_w(table.ghi, table.dni, table.dhi, zenith, **SIZE)
    return [a[taken] for a in (sun_w, table.temp_air.to_numpy(float), sky, air.mcadams_1954_film(wind))]


@pytest.mark.parametrize(
    ("name", "over_30", "over_44", "most"),
    [
        ("723170TYA.CSV", (456, 1040, 1515), (0, 1, 214), (37.7, 44.0, 54.0)),
        ("703165TY.csv", (0, 0, 35), (0, 0, 0), (20.5, 26.0, 34.4)),
    ],
)
def test_a_real_summer_against_small_euler_steps(name, over_30, over_44, most):
    """May to September of two typical years (TMY3, 36 N inland, 55 N by the sea), a full 12 L bucket: hours
    above 30 and 44 °C and maxima by plain Euler steps of four minutes here, and by an independent script with
    hours counted by their ends (456, 1040, 1515 over 30, 214 over 44; 0, 35 by the sea)."""
    sun_w, t_air, sky, film = year(name)
    colours = np.array([0.25, 0.55, 0.95])
    run = follow(
        Surroundings(colours[:, None] * np.repeat(sun_w, 4), *(np.repeat(a, 4) for a in (t_air, sky, film))),
        step_h=0.25, wanted_l=0, start_l=12, start_C=15, holds_l=12, shell_j_per_K=SHELL, **SIZE,
    )  # fmt: skip
    above = bucket.hours_above(run.water_C, 30, step_h=0.25)
    held, t = 12 * 4186 + SHELL, np.full(3, 15.0)
    hours, hottest = np.zeros(3), np.zeros(3)
    for w, a, s, h in zip(sun_w, t_air, sky, film, strict=True):
        for _ in range(15):
            t = t + 240 / held * gain_w(t, colours * w, a, s, h)
            hours += (t > 30) / 15
        hottest = np.maximum(hottest, t)
    np.testing.assert_allclose(above, hours, rtol=0.01, atol=1.5)
    np.testing.assert_allclose(run.water_C.max(axis=1), hottest, atol=0.15)
    np.testing.assert_allclose(above, over_30, rtol=0.02, atol=1)
    np.testing.assert_allclose(bucket.hours_above(run.water_C, 44, step_h=0.25), over_44, rtol=0.06, atol=1)
    np.testing.assert_allclose(run.water_C.max(axis=1), most, atol=0.11)

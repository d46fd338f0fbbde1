"""Reference values for the radiometry, by adaptive quadrature and root finding with scipy.

Writes ../data/reference/band_signal.csv (signals of black bodies) and
../data/reference/skin_temperature.csv (the measurement equation solved for the skin).
Run in this folder after: pip install -r requirements.txt
"""

import csv
from pathlib import Path

import numpy as np
from scipy.constants import c, h, k
from scipy.integrate import quad
from scipy.optimize import brentq

OUT = Path(__file__).resolve().parent.parent / "data" / "reference"
C1L = 2 * h * c * c * 1e24  # W um4 m-2 sr-1
C2 = h * c / k * 1e6  # um K


def planck(wavelength, kelvin):
    return C1L / wavelength**5 / np.expm1(C2 / (wavelength * kelvin))


def signal(kelvin, low, high):
    value, error = quad(planck, low, high, args=(kelvin,), epsabs=0, epsrel=1e-11, limit=400)
    assert error < 1e-9 * value
    return value


def temperature(target, low, high):
    return brentq(lambda t: signal(t, low, high) - target, 30.0, 6000.0, xtol=1e-9, rtol=1e-13)


def write(name, header, rows):
    OUT.mkdir(parents=True, exist_ok=True)
    with open(OUT / name, "w", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(header)
        writer.writerows(rows)


def band_signals():
    for low, high in [(8.0, 14.0), (7.5, 13.0), (7.5, 14.0), (8.0, 12.0), (3.0, 5.0), (2.0, 2.6), (9.99, 10.01)]:
        for kelvin in [200, 210.3, 233.15, 273.15, 291.7, 300, 323.15, 353.15, 400, 473.15, 600, 888.8, 1200, 1500]:
            yield low, high, kelvin, repr(float(signal(kelvin, low, high)))


def skins():
    """Invented scenes: what an instrument set to eps_i and t_refl_i shows of a skin, and the skin it came from."""
    rng = np.random.default_rng(20)
    for number in range(200):
        low, high = [(8.0, 14.0), (7.5, 13.0), (3.0, 5.0)][number % 3]
        emissivity = round(float(rng.uniform(0.05, 1.0)), 3)
        skin = round(float(rng.uniform(5.0, 180.0)), 2)
        reflected = round(float(rng.uniform(-20.0, 60.0)), 2)
        ambient = round(float(rng.uniform(-10.0, 40.0)), 2)
        transmittance = [1.0, 0.99, 0.9, 0.6][number % 4]
        setting = [1.0, 0.95, 0.3][number % 3]
        setting_reflected = round(float(rng.uniform(10.0, 30.0)), 2)
        s = lambda celsius: signal(celsius + 273.15, low, high)
        arriving = transmittance * (emissivity * s(skin) + (1 - emissivity) * s(reflected))
        arriving += (1 - transmittance) * s(ambient)
        stored = (arriving - (1 - setting) * s(setting_reflected)) / setting
        if stored <= 0:
            continue
        shown = temperature(stored, low, high) - 273.15
        apparent = temperature(arriving, low, high) - 273.15
        yield (low, high, setting, setting_reflected, repr(shown), emissivity, reflected, ambient, transmittance,
               repr(apparent), skin)


write("band_signal.csv", ["low_um", "high_um", "kelvin", "signal"], band_signals())
write(
    "skin_temperature.csv",
    ["low_um", "high_um", "setting", "setting_reflected_c", "shown_c", "emissivity", "reflected_c", "ambient_c",
     "transmittance", "apparent_c", "skin_c"],
    skins(),
)

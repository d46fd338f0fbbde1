"""An independent evaluation of sessions with charge air, written from the design's words with numpy alone.

It shares nothing with the program: Planck's law is integrated by Simpson's rule and inverted by bisection, the exchanger is
the double integral of its differential equations rather than a series, the wall's transient is finite volumes in space and
implicit in time, and the settling is fitted by Gauss and Newton's method.

    pip install numpy==2.1.3
    python tests/reference/charge_air.py tests/data/charge
"""

import json
import math
import re
import sys
import tomllib
from pathlib import Path

import numpy as np

SIGMA = 5.670374419e-8
R = 287.05
C2 = 14387.768775
UNITS = {
    "kPa": 1e3, "hPa": 1e2, "mm": 1e-3, "g/s": 1e-3, "kg/s": 1.0, "s": 1.0, "m/s": 1.0, "W/(m2": 1.0, "W/(m": 1.0,
    "kg/m3": 1.0, "J/(kg": 1.0, "K": 1.0,
}


def value(text):
    if isinstance(text, (int, float)):
        return float(text)
    number = float(re.match(r"[-0-9.]+", text)[0])
    if "°C" in text:
        return number + 273.15
    unit = re.sub(r"(±|×/÷)\s*[0-9.]+", "", text[re.match(r"[-0-9.]+", text).end():]).split()
    return number * (UNITS[unit[0]] if unit else 1.0)


# ------------------------------------------------------------------ radiation, 8 to 14 µm

GRID = np.linspace(8, 14, 2001)
WEIGHTS = np.full(2001, 2.0)
WEIGHTS[1::2] = 4.0
WEIGHTS[[0, -1]] = 1.0


def signal(kelvin):
    return float((WEIGHTS / (GRID**5 * np.expm1(C2 / (GRID * kelvin)))).sum())


def kelvin(wanted):
    low, high = 200.0, 800.0
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if signal(middle) < wanted else (low, middle)
    return (low + high) / 2


def skin(shown, setting, setting_reflected, emissivity, reflected):
    arrived = setting * signal(shown) + (1 - setting) * signal(setting_reflected)
    return kelvin((arrived - (1 - emissivity) * signal(reflected)) / emissivity)


# ------------------------------------------------------------------ air and films


def viscosity(t):
    return 1.458e-6 * t**1.5 / (t + 110.4)


def conductivity(t):
    return 2.64638e-3 * t**1.5 / (t + 245.4 * 10 ** (-12 / t))


def specific_heat(t):
    # linear in a table of CoolProp 8.0.0 at 100 to 200 kPa
    return float(np.interp(t, [280, 300, 320, 340, 360, 380, 400, 420], [1006.7, 1007.2, 1008.0, 1009.0, 1010.5, 1012.4, 1014.5, 1017.1]))


def prandtl(t):
    return specific_heat(t) * viscosity(t) / conductivity(t)


def outer_film(speed, height, skin, ambient, pressure):
    t = (skin + ambient) / 2
    nu = viscosity(t) * R * t / pressure
    re = speed * height / nu
    pr = prandtl(t)
    plate = 0.664 * math.sqrt(re) * pr ** (1 / 3) if re < 5e5 else (0.037 * re**0.8 - 871) * pr ** (1 / 3)
    ra = 9.80665 / t * abs(skin - ambient) * height**3 / nu**2 * pr
    still = (0.825 + 0.387 * ra ** (1 / 6) / (1 + (0.492 / pr) ** (9 / 16)) ** (8 / 27)) ** 2
    return max(plate, still) * conductivity(t) / height


def tube(flow, diameter, t):
    re, pr = 4 * flow / (math.pi * diameter * viscosity(t)), prandtl(t)

    def gnielinski(re):
        f = (0.79 * math.log(re) - 1.64) ** -2
        return f / 8 * (re - 1000) * pr / (1 + 12.7 * math.sqrt(f / 8) * (pr ** (2 / 3) - 1))

    if re < 2300:
        nusselt = 3.66
    elif re < 3000:
        nusselt = 3.66 + (re - 2300) / 700 * (gnielinski(3000) - 3.66)
    else:
        nusselt = gnielinski(re)
    return nusselt * conductivity(t) / diameter


# ------------------------------------------------------------------ exchanger: dT/dx = -N (T - t), dt/dy = C N (T - t)


def cross_flow(ntu, ratio, cells=200):
    """Effectiveness of the smaller stream, by marching over a plate of cells (second order)."""
    hot = np.ones(cells)  # entering each row, along y
    a, b = ntu / cells, ratio * ntu / cells
    cold = np.zeros(cells)
    out = np.empty(cells)
    for j in range(cells):  # along y: cold stream's way
        t_hot = 1.0
        for i in range(cells):  # along x: hot stream's way
            # both leave the cell at the mean temperature difference: solved for the two outlets
            d = t_hot - cold[i]
            q = d / (1 + a / 2 + b / 2)
            t_hot -= a * q
            cold[i] += b * q
        out[j] = t_hot
    return 1 - out.mean()


def ntu_of(wanted, ratio):
    if ratio == 0:
        return -math.log(1 - wanted)
    low, high = 0.01, 10.0
    for _ in range(28):
        middle = (low + high) / 2
        low, high = (middle, high) if cross_flow(middle, ratio) < wanted else (low, middle)
    return (low + high) / 2


# ------------------------------------------------------------------ transient and settling


def share(time, wall, k, capacity, inner, outer, cells=240, steps=4000):
    """Crank and Nicolson's scheme for a step of the air inside, the skin's share of its way."""
    dx, dt = wall / cells, time / steps
    conduct = np.full(cells + 1, k / dx)
    conduct[0] = 1 / (1 / outer + dx / (2 * k))
    conduct[-1] = 1 / (1 / inner + dx / (2 * k))
    matrix = np.zeros((cells, cells))
    for i in range(cells):
        matrix[i, i] = -(conduct[i] + conduct[i + 1])
        if i:
            matrix[i, i - 1] = conduct[i]
        if i < cells - 1:
            matrix[i, i + 1] = conduct[i + 1]
    matrix *= dt / (capacity * dx)
    source = np.zeros(cells)
    source[-1] = conduct[-1] * dt / (capacity * dx)
    one = np.eye(cells)
    advance = np.linalg.solve(one - matrix / 2, one + matrix / 2)
    push = np.linalg.solve(one - matrix / 2, source)
    profile = np.zeros(cells)
    for _ in range(steps):
        profile = advance @ profile + push
    steady = np.linalg.solve(-matrix, source)
    return profile[0] / steady[0]


def settled(times, values):
    """Gauss and Newton's method for T - A exp(-t/tau)."""
    times, values = np.array(times), np.array(values)
    t, a, tau = values[-1] + 3, values[-1] + 3 - values[0], (times[-1] - times[0]) / 2
    since = times - times[0]
    for _ in range(200):
        e = np.exp(-since / tau)
        jacobian = np.stack([np.ones_like(e), -e, -a * e * since / tau**2], axis=1)
        step = np.linalg.lstsq(jacobian, values - (t - a * e), rcond=None)[0]
        step *= min(1.0, 0.3 * tau / max(abs(step[2]), 1e-12))
        t, a, tau = t + step[0], a + step[1], tau + step[2]
    return t


# ------------------------------------------------------------------ a session


class Session:
    def __init__(self, text):
        self.all = tomllib.loads(text)
        self.runs = self.all["run"]

    def conditions(self, run):
        own, every = run.get("conditions", {}), dict(self.all["conditions"])
        if "air-speed" in own:  # takes the place of an inherited film
            every.pop("outer-film", None)
        return {**every, **own}

    def surface(self, run, tank):
        return self.all["surface"][self.all["cooler"][run["cooler"]][tank]]

    def readings(self, run, tank):
        camera = self.all["instrument"]["pistol"]
        conditions = self.conditions(run)
        for spot in run.get("pistol", []):
            if spot["tank"] == tank:
                surface = self.all["surface"][spot["surface"]] if "surface" in spot else self.surface(run, tank)
                found = skin(
                    value(spot["reading"]), camera["emissivity"], value(camera["reflected"]),
                    value(surface["emissivity"]), value(conditions["reflected"]),
                )
                yield found, value(spot["at"]) if "at" in spot else value(run["hold"]) if "hold" in run else None

    def through(self, run, tank, skin):
        """Charge air, outside film with radiation, inside film."""
        conditions, cooler, surface = self.conditions(run), self.all["cooler"][run["cooler"]], self.surface(run, tank)
        ambient, mirrored = value(conditions["ambient"]), value(conditions["reflected"])
        emissivity, ratio = value(surface["emissivity"]), surface.get("outer-area-ratio", 1.0)
        wall, k = value(surface["wall"]), value(surface["conductivity"])
        if "outer-film" in conditions:
            outer = value(conditions["outer-film"])
        else:
            outer = outer_film(
                value(conditions["air-speed"]), value(cooler["tank-height"]), skin, ambient, value(conditions["barometer"])
            )
        flux = outer * (skin - ambient) + emissivity * SIGMA * (skin**4 - mirrored**4)
        inner_side = skin + flux * ratio * wall / k
        if "inner-film" in cooler:
            inner = value(cooler["inner-film"])
        else:
            charge = inner_side
            for _ in range(50):
                inner = tube(value(run["air-flow"]), value(cooler["tank-diameter"]), (charge + inner_side) / 2)
                charge = inner_side + flux * ratio / inner
        charge = skin + flux * (wall / k + 1 / inner) * ratio
        radiation = emissivity * SIGMA * (skin**4 - mirrored**4) / (skin - mirrored)
        return charge, (outer + radiation) * ratio, inner

    def steady(self, run, tank):
        found = list(self.readings(run, tank))
        if not found:
            return None, None
        mean = float(np.mean([skin for skin, _ in found]))
        times = sorted({time for _, time in found if time is not None})
        if len(times) >= 3:
            series = [float(np.mean([s for s, t in found if t == time])) for time in times]
            return mean, settled(times, series)
        if times:
            surface = self.surface(run, tank)
            start = value(run["start-skin"][tank])
            carried = []
            for skin, time in found:
                _, outer, inner = self.through(run, tank, skin)
                capacity = value(surface["density"]) * value(surface["specific-heat"])
                gone = share(time, value(surface["wall"]), value(surface["conductivity"]), capacity, inner, outer)
                carried.append(start + (skin - start) / gone)
            return mean, float(np.mean(carried))
        return mean, mean

    def ratio(self, cooler, tank):
        """Skin to air, from the runs that have both; None where none has."""
        ratios = []
        for run in self.runs:
            if run["cooler"] == cooler and f"{tank}-air" in run and self.steady(run, tank)[1]:
                ambient = value(self.conditions(run)["ambient"])
                ratios.append((self.steady(run, tank)[1] - ambient) / (value(run[f"{tank}-air"]) - ambient))
        return np.mean(ratios) if ratios else None

    def of_run(self, run):
        conditions = self.conditions(run)
        air = value(conditions.get("cooling-air", conditions["ambient"]))
        barometer = value(conditions["barometer"])
        found, charge, walls = {}, {}, {}
        for tank in ("inlet", "outlet"):
            mean, steady = self.steady(run, tank)
            if mean is not None:
                found[f"{tank}_surface"] = mean - 273.15
                if "wall" in self.surface(run, tank):
                    walls[tank] = self.through(run, tank, steady)[0]
            charge[tank] = value(run[f"{tank}-air"]) if f"{tank}-air" in run else None
            if charge[tank] is None and steady is not None:
                ratio = self.ratio(run["cooler"], tank)
                ambient = value(conditions["ambient"])
                charge[tank] = ambient + (steady - ambient) / ratio if ratio else walls.get(tank)
            if charge[tank] is not None:
                found[f"{tank}_charge"] = charge[tank] - 273.15
        if "inlet_surface" in found and "outlet_surface" in found:
            drop = found["inlet_surface"] - found["outlet_surface"]
            found["surface_drop"] = drop
            found["surface_effectiveness"] = drop / (found["inlet_surface"] + 273.15 - air)
        pressures = {tank: value(run[f"{tank}-pressure"]) + barometer for tank in ("inlet", "outlet") if f"{tank}-pressure" in run}
        if "differential-pressure" in run:
            loss = value(run["differential-pressure"])
            pressures.setdefault("outlet", pressures["inlet"] - loss)
        else:
            loss = pressures["inlet"] - pressures["outlet"]
        found["inlet_pressure"], found["outlet_pressure"] = pressures["inlet"] / 1e3, pressures["outlet"] / 1e3
        found["pressure_drop"], found["pressure_loss"] = loss / 1e3, loss / pressures["inlet"]
        sensor = value(run["intake-air"]) if "intake-air" in run else None
        if sensor:
            found["intake_air"] = sensor - 273.15
        out = charge["outlet"] or sensor
        densities = {}
        if charge["inlet"]:
            densities["inlet"] = found["inlet_density"] = pressures["inlet"] / R / charge["inlet"]
        if out:
            densities["outlet"] = found["outlet_density"] = pressures["outlet"] / R / out
        flow = value(run["air-flow"]) if "air-flow" in run else None
        if len(densities) == 2:
            found["density_ratio"] = densities["outlet"] / densities["inlet"]
            if flow:
                found["loss_coefficient"] = loss * sum(densities.values()) / 2 / flow**2
        if charge["inlet"] and charge["outlet"]:
            drop = charge["inlet"] - charge["outlet"]
            share_taken = drop / (charge["inlet"] - air)
            found["charge_drop"], found["charge_effectiveness"] = drop, share_taken
            hot = flow * specific_heat((charge["inlet"] + charge["outlet"]) / 2)
            found["heat_rejected"] = hot * drop / 1e3
            if "cooling-air-flow" in conditions:
                cold = value(conditions["cooling-air-flow"]) * specific_heat(air)
                least, most = min(hot, cold), max(hot, cold)
                found["ntu"] = ntu_of(share_taken * hot / least, least / most)
                found["ua"] = found["ntu"] * least
            else:
                found["ntu"] = ntu_of(share_taken, 0)
                found["ua"] = found["ntu"] * hot
        return found, charge, walls, air

    def expected(self):
        rows = [(run["cooler"], *self.of_run(run)) for run in self.runs]
        # The best evidence all have, tank by tank: a probe in every cooler, else the wall.
        both = {}
        for tank in ("inlet", "outlet"):
            coolers = {run["cooler"] for run in self.runs}
            probed = {run["cooler"] for run in self.runs if f"{tank}-air" in run}
            both[tank] = probed == coolers
        baseline = self.all.get("baseline") or self.runs[0]["cooler"]
        chosen = []
        for run, (cooler, found, charge, walls, air) in zip(self.runs, rows):
            pick = {tank: charge[tank] if both[tank] else walls[tank] for tank in both}
            found["effectiveness"] = (pick["inlet"] - pick["outlet"]) / (pick["inlet"] - air)
            chosen.append((cooler, pick["inlet"], air))
        reference = np.mean([row[1:] for row in chosen if row[0] == baseline], axis=0)
        skins = np.mean([(r[1]["inlet_surface"] + 273.15, r[4]) for r in rows if r[0] == baseline], axis=0)
        for _, found, *_ in rows:
            found["outlet_normalised"] = reference[0] - found["effectiveness"] * (reference[0] - reference[1]) - 273.15
            found["outlet_surface_normalised"] = skins[0] - found["surface_effectiveness"] * (skins[0] - skins[1]) - 273.15
            found["kept"] = (1 - found["pressure_loss"]) / (found["outlet_normalised"] + 273.15)
        first = np.mean([found["kept"] for cooler, found, *_ in rows if cooler == baseline])
        for _, found, *_ in rows:
            found["density_gain"] = found.pop("kept") / first - 1
        coolers = {}
        for cooler in dict.fromkeys(run["cooler"] for run in self.runs):
            own = [found for key, found, *_ in rows if key == cooler]
            names = dict.fromkeys(name for found in own for name in found)
            coolers[cooler] = {name: float(np.mean([found[name] for found in own if name in found])) for name in names}
        return coolers


def main(folder):
    for path in sorted(folder.glob("*/session.toml")):
        expected = Session(path.read_text()).expected()
        (path.parent / "expected.json").write_text(json.dumps(expected, indent=1) + "\n")


if __name__ == "__main__":
    main(Path(sys.argv[1]))

"""An independent Monte Carlo of two sessions with numpy, 400 000 draws, written from the design's words.

Writes the sessions' pictures and expected intervals into ../data/uncertainty/. The sessions themselves
(stated/session.toml and patched/session.toml) are written here too, so that inputs stand in one place.
Run in this folder after: pip install -r requirements.txt
"""

import json
from pathlib import Path

import numpy as np
from scipy.constants import c, h, k
from scipy.integrate import quad
from scipy.interpolate import CubicSpline

OUT = Path(__file__).resolve().parent.parent / "data" / "uncertainty"
DRAWS = 400_000
C1L, C2 = 2 * h * c * c * 1e24, h * c / k * 1e6
ZERO = 273.15


def exact_signal(kelvin):
    return quad(lambda w: C1L / w**5 / np.expm1(C2 / (w * kelvin)), 8.0, 14.0, epsabs=0, epsrel=1e-11)[0]


GRID = np.linspace(200.0, 900.0, 1401)
LOG = np.log([exact_signal(t) for t in GRID])
FORWARD, INVERSE = CubicSpline(GRID, LOG), CubicSpline(LOG, GRID)


def signal(kelvin):
    return np.exp(FORWARD(kelvin))


def temperature(s):
    s = np.asarray(s, dtype=float)
    out = np.full(s.shape, np.nan)
    good = s > 0
    out[good] = INVERSE(np.log(s[good]))
    # Beyond the table's cold end there is still a temperature; none is met here outside draws without one.
    return out


class Draw:
    def __init__(self, seed):
        self.rng = np.random.default_rng(seed)

    def even(self, low, high):
        return self.rng.uniform(low, high, DRAWS)

    def normal(self, value, standard):
        return self.rng.normal(value, standard, DRAWS)


def weights(celsius, absolute, relative):
    limit = max(absolute, relative * abs(celsius))
    x = min(max((celsius - 20) / 100, 0), 1)
    return limit * (1 - x), limit * x


def undo(shown, setting, reflected):
    """Apparent temperature, K, of a shown one, K."""
    return float(temperature(np.array([setting * signal(shown) + (1 - setting) * signal(reflected)]))[0])


def q(draws, value, scatter_draws=None, scatter_var=0.0):
    spread = np.sqrt(np.nanvar(draws) + scatter_var)
    full = draws if scatter_draws is None else draws + scatter_draws
    full = np.where(np.isfinite(full), full, -np.inf)
    low, high = np.quantile(full, [0.025, 0.975], method="lower")
    return {"value": float(value), "low": float(low), "high": float(high), "u": float(spread)}


def verdict(d):
    return "higher" if d["low"] > 0 else "lower" if d["high"] < 0 else "not distinguishable"


# Inputs by their place in the session, for the budget.
NAMED = {}


def named(place, pair):
    NAMED[place] = pair[1]
    return pair


def shares(plain, scatter_var):
    """Squared correlations of the inputs with a figure's draws, as shares of the whole variance, the scatter's included."""
    solved = np.isfinite(plain)
    variance = plain[solved].var()
    whole = variance + scatter_var
    found = {place: np.corrcoef(x[solved], plain[solved])[0, 1] ** 2 * variance / whole for place, x in NAMED.items()}
    found["scatter between runs"] = scatter_var / whole
    return {place: float(share) for place, share in found.items() if share > 0.002}


class Session:
    """Draws of a session and its central values, side by side: everything is a pair (central, draws)."""

    def __init__(self, seed):
        self.draw = Draw(seed)

    def rect(self, value, half):
        return value, self.draw.even(value - half, value + half)


def lift(function):
    """Applies a function of columns to pairs of central value and draws."""

    def apply(*pairs):
        central = function(*[np.array([pair[0]]) for pair in pairs])
        return float(np.asarray(central)[0]), function(*[pair[1] for pair in pairs])

    return apply


def skin(seen, emissivity, reflected, transmittance=1.0, ambient=None):
    def solve(seen, emissivity, reflected):
        return temperature((signal(seen) - (1 - emissivity) * signal(reflected)) / emissivity)

    return lift(solve)(seen, emissivity, reflected)


def finish(coolers, baseline, candidate, draw):
    """Quantities of coolers from runs: scatter pooled, one chi-square a quantity and one normal a cooler."""
    result = {"coolers": {}, "differences": {}, "budget": []}
    for name in coolers[baseline]:
        runs = {key: coolers[key][name] for key in coolers}
        freedom = sum(len(values) - 1 for values in runs.values())
        centres = {key: np.array([run[0] for run in values]) for key, values in runs.items()}
        squares = sum(((x - x.mean()) ** 2).sum() for x in centres.values())
        s = np.sqrt(squares / freedom) if freedom else 0.0
        root = np.sqrt(draw.rng.chisquare(freedom, DRAWS) / freedom) if freedom else 1.0
        means, scatters, variances = {}, {}, {}
        for key, values in runs.items():
            n = len(values)
            means[key] = (centres[key].mean(), sum(run[1] for run in values) / n)
            scatters[key] = s / np.sqrt(n) * draw.rng.normal(0, 1, DRAWS) / root if freedom else 0.0
            variances[key] = s * s / n
            if NAMED:
                found = shares(means[key][1], variances[key])
                result["budget"].append({"cooler": key, "quantity": name, "shares": found})
            result["coolers"].setdefault(key, {})[name] = q(means[key][1], means[key][0], scatters[key], variances[key])
        d = q(
            means[candidate][1] - means[baseline][1],
            means[candidate][0] - means[baseline][0],
            scatters[candidate] - scatters[baseline],
            variances[candidate] + variances[baseline],
        )
        d["verdict"] = verdict(d)
        if NAMED:
            found = shares(means[candidate][1] - means[baseline][1], variances[candidate] + variances[baseline])
            result["budget"].append({"candidate": candidate, "quantity": name, "shares": found})
        result["differences"][name] = d
    return result


def to_face(result):
    """K to °C, Pa to kPa."""

    def convert(name, entry, difference):
        offset = 0.0 if difference or name not in CELSIUS else ZERO
        scale = 1e-3 if name.startswith(("inlet_pressure", "outlet_pressure", "pressure_drop")) else 1.0
        for key in ("value", "low", "high"):
            entry[key] = (entry[key] - offset) * scale
        entry["u"] *= scale

    for quantities in result["coolers"].values():
        for name, entry in quantities.items():
            convert(name, entry, False)
    for name, entry in result["differences"].items():
        convert(name, entry, True)
    for entry in result["readings"]:
        for key in ("value", "low", "high"):
            entry["skin"][key] -= ZERO
    return result


CELSIUS = ("inlet_surface", "outlet_surface", "outlet_surface_normalised", "outlet_normalised", "intake_air")


def picture(folder, name, regions):
    """A text matrix of 12 × 24 pixels: each region is one column block of a constant temperature, °C."""
    rows = []
    for _ in range(12):
        row = []
        for celsius in regions:
            row += [f"{celsius:.2f}"] * 6
        rows.append(",".join(row))
    (folder / name).write_text("\n".join(rows) + "\n")


def skins_to_quantities(runs, reference, draw, cooler=None):
    """runs: list of (inlet, outlet, air) pairs; reference: central (inlet, air)."""
    names = {}
    quotient = 1.0, np.exp(draw.even(-np.log(1.1), np.log(1.1)))
    if cooler:
        named(f"cooler.{cooler}.skin-to-air ratio of the outlet over the inlet's", quotient)
    for inlet, outlet, air in runs:
        drop = lift(lambda a, b: a - b)(inlet, outlet)
        effect = lift(lambda d, a, t: d / (a - t))(drop, inlet, air)
        normalise = lift(lambda e: reference[0] - e * (reference[0] - reference[1]))
        normal = normalise(effect)
        of_air = lift(lambda e, k: 1 - (1 - e) / k)(effect, quotient)
        for name, pair in [("inlet_surface", inlet), ("outlet_surface", outlet), ("surface_drop", drop),
                           ("surface_effectiveness", effect), ("outlet_surface_normalised", normal),
                           ("effectiveness", of_air), ("outlet_normalised", normalise(of_air))]:
            names.setdefault(name, []).append(pair)
    return names


# ---------------------------------------------------------------------------------------------------------------------


def stated():
    """Stated emissivities, three runs and two, a shared tape, a gauge, one ambient of its own, assumed reflection."""
    folder = OUT / "stated"
    folder.mkdir(parents=True, exist_ok=True)
    shown = {"a": [(52.11, 30.40), (52.96, 31.05), (52.47, 30.71)], "b": [(44.03, 25.92), (44.61, 25.33)]}
    tape = {"b": [(61.2, 27.3), (61.9, 27.6)]}
    psi = {"a": [(22.9, 21.9), (23.1, 22.0), (22.8, 21.9)], "b": [(23.4, 22.7), (23.5, 22.7)]}
    text = """title = "Stated emissivities"
baseline = "a"

[conditions]
ambient = "18 °C ± 0.5"
cooling-air = "19.0 °C ± 1"
barometer = "1008 hPa ± 3"
transmittance = "0.98 ± 0.01"

[instrument.camera]
emissivity = 0.95
reflected = "20 °C"
accuracy = "1.5 °C or 2 %"
drift = "0.4 K"
pixels = { unit = "°C" }

[instrument.gauge]
measures = ["inlet-pressure", "outlet-pressure"]
accuracy = "2 kPa or 1 %"

[surface.plastic]
emissivity = "0.94 ± 0.03 (k=2)"

[surface.cast]
emissivity = "0.62 ×/÷ 1.15"

[surface.tape]
emissivity = "0.95 ± 0.03"
shared = true

[cooler.a]
inlet = "plastic"
outlet = "plastic"

[cooler.b]
inlet = "cast"
outlet = "cast"

[view.a]
regions = [
  { tank = "inlet", rectangle = [0, 0, 6, 12] },
  { tank = "outlet", rectangle = [6, 0, 6, 12] },
]

[view.b]
regions = [
  { tank = "inlet", name = "inlet bare", rectangle = [0, 0, 6, 12] },
  { tank = "outlet", name = "outlet bare", rectangle = [6, 0, 6, 12] },
  { tank = "inlet", name = "inlet tape", surface = "tape", rectangle = [12, 0, 6, 12] },
  { tank = "outlet", name = "outlet tape", surface = "tape", rectangle = [18, 0, 6, 12] },
]
"""
    for cooler in "ab":
        for n, (inlet, outlet) in enumerate(shown[cooler], 1):
            extra = list(tape[cooler][n - 1]) if cooler in tape else []
            picture(folder, f"{cooler}{n}.csv", [inlet, outlet] + extra)
            p_in, p_out = psi[cooler][n - 1]
            text += f'\n[[run]]\ncooler = "{cooler}"\nname = "{cooler} {n}"\n'
            text += f'inlet-pressure = "{p_in} psi"\noutlet-pressure = "{p_out} psi"\n'
            if cooler == "b" and n == 2:
                text += '\n[run.conditions]\nambient = "20 °C ± 0.5"\n'
            text += f'\n[[run.snapshot]]\nfile = "{cooler}{n}.csv"\nview = "{cooler}"\n'
    (folder / "session.toml").write_text(text)

    session = Session(1)
    draw = session.draw
    ambient = {
        None: named("conditions.ambient", session.rect(18 + ZERO, 0.5)),
        ("b", 2): named("run.b 2.conditions.ambient", session.rect(20 + ZERO, 0.5)),
    }
    air = named("conditions.cooling-air", session.rect(19 + ZERO, 1.0))
    barometer = named("conditions.barometer", session.rect(100_800.0, 300.0))
    tau = named("conditions.transmittance", (0.98, draw.even(0.97, 0.99)))
    u0 = named("instrument.camera.accuracy at 20 °C", (0.0, draw.even(-1, 1)))
    u1 = named("instrument.camera.accuracy at 120 °C", (0.0, draw.even(-1, 1)))
    excess = named("conditions.reflected above ambient (assumed)", (5.0, draw.even(-5, 15)))
    plastic = draw.normal(0.94, 0.015)
    while (bad := (plastic <= 0) | (plastic > 1)).any():
        plastic[bad] = draw.rng.normal(0.94, 0.015, bad.sum())
    emissivity = {
        "plastic": (0.94, plastic),
        "cast": (0.62, np.exp(draw.even(np.log(0.62 / 1.15), np.log(0.62 * 1.15)))),
        "tape": (0.95, draw.even(0.92, 0.98)),
    }
    named("surface.plastic.emissivity (a)", emissivity["plastic"])
    named("surface.cast.emissivity (b)", emissivity["cast"])
    named("surface.tape.emissivity", emissivity["tape"])
    gauge = named("instrument.gauge.accuracy", (0.0, draw.even(-1, 1)))
    readings, coolers = [], {"a": None, "b": None}
    per_cooler = {}
    for cooler in "ab":
        runs, pressures = [], {}
        for n, values in enumerate(shown[cooler], 1):
            here = ambient.get((cooler, n), ambient[None])
            reflected = lift(lambda t, e: t + e)(here, excess)
            drift = named(f"run.{cooler} {n}.snapshot 1 drift", (0.0, draw.even(-0.4, 0.4)))
            regions = [(values[0], "inlet", None), (values[1], "outlet", None)]
            if cooler in tape:
                regions += [(tape[cooler][n - 1][0], "inlet", "tape"), (tape[cooler][n - 1][1], "outlet", "tape")]
            tanks = {"inlet": [], "outlet": []}
            for celsius, tank, surface in regions:
                apparent = undo(round(celsius, 2) + ZERO, 0.95, 20 + ZERO)
                w0, w1 = weights(apparent - ZERO, 1.5, 0.02)
                seen = lift(lambda a, b, d: apparent + w0 * a + w1 * b + d)(u0, u1, drift)
                surface = surface or ("plastic" if cooler == "a" else "cast")

                def solve(seen, e, t, r, a):
                    leaving = (signal(seen) - (1 - t) * signal(a)) / t
                    return temperature((leaving - (1 - e) * signal(r)) / e)

                found = lift(solve)(seen, emissivity[surface], tau, reflected, here)
                tanks[tank].append(found)
                readings.append({"run": f"{cooler} {n}", "tank": tank, "surface": surface, "skin": q(found[1], found[0])})
            mean = lift(lambda *x: sum(x) / len(x))
            runs.append((mean(*tanks["inlet"]), mean(*tanks["outlet"]), air))
            taps = []
            for tank, noted in zip(("inlet", "outlet"), psi[cooler][n - 1]):
                pascal = noted * 6894.757293168
                limit = max(2000.0, 0.01 * pascal)
                half = 0.05 * 6894.757293168
                note = named(f"run.{cooler} {n}.{tank}-pressure", session.rect(pascal, half))
                taps.append(lift(lambda x, g, b: x + limit * g + b)(note, gauge, barometer))
            drop = lift(lambda a, b: a - b)(*taps)
            loss = lift(lambda d, a: d / a)(drop, taps[0])
            for name, pair in zip(("inlet_pressure", "outlet_pressure", "pressure_drop", "pressure_loss"),
                                  (*taps, drop, loss)):
                pressures.setdefault(name, []).append(pair)
        per_cooler[cooler] = runs, pressures
    reference = (np.mean([run[0][0] for run in per_cooler["a"][0]]), 19 + ZERO)
    for cooler in "ab":
        runs, pressures = per_cooler[cooler]
        coolers[cooler] = {**skins_to_quantities(runs, reference, draw, cooler), **pressures}
    result = finish(coolers, "a", "b", draw)
    NAMED.clear()
    for name in ("inlet_surface", "outlet_surface", "surface_drop"):
        result["differences"][name]["verdict"] = "not comparable"
    result["readings"] = readings
    return folder, result


def patched():
    """Emissivity from a patch, reflection from foil, a reference in one picture, one run each and stated scatter."""
    folder = OUT / "patched"
    folder.mkdir(parents=True, exist_ok=True)
    # What an error-free camera at a setting of 1 would store for the true scene.
    true = {"a": (66.0, 33.0, 0.27), "b": (61.5, 28.5, 0.27)}
    mirrored = 21.0
    s = lambda celsius: float(signal(celsius + ZERO))
    back = lambda value: float(temperature(np.array([value]))[0]) - ZERO
    see = lambda celsius, e: round(back(e * s(celsius) + (1 - e) * s(mirrored)), 2)
    shown = {}
    for cooler, (inlet, outlet, e) in true.items():
        shown[cooler] = [see(inlet, e), see(inlet, 0.95), see(outlet, e), mirrored]
        picture(folder, f"{cooler}.csv", shown[cooler])
    text = """title = "Patch, foil and stated scatter"
primary = "surface_effectiveness"

[conditions]
ambient = "19 °C ± 0.5"

[repeatability]
temperature = "0.4 K"

[instrument.camera]
emissivity = 1
accuracy = "2 °C or 2 %"
drift = "0.3 K"
pixels = { unit = "°C" }

[surface.bare]
emissivity = "from patch"

[surface.tape]
emissivity = "0.95 ± 0.02"
shared = true

[cooler.a]
inlet = "bare"
outlet = "bare"

[cooler.b]
inlet = "bare"
outlet = "bare"

[view.front]
regions = [
  { tank = "inlet", rectangle = [0, 0, 6, 12] },
  { role = "patch", tank = "inlet", surface = "tape", rectangle = [6, 0, 6, 12] },
  { tank = "outlet", rectangle = [12, 0, 6, 12] },
  { role = "reflector", rectangle = [18, 0, 6, 12] },
]
"""
    for cooler in "ab":
        text += f'\n[[run]]\ncooler = "{cooler}"\n\n[[run.snapshot]]\nfile = "{cooler}.csv"\nview = "front"\n'
    (folder / "session.toml").write_text(text)

    session = Session(2)
    draw = session.draw
    ambient = session.rect(19 + ZERO, 0.5)
    u0, u1 = (0.0, draw.even(-1, 1)), (0.0, draw.even(-1, 1))
    tape = 0.95, draw.even(0.93, 0.97)
    readings, coolers, runs = [], {}, {}
    for number, cooler in enumerate("ab", 1):
        drift = 0.0, draw.even(-0.3, 0.3)

        def seen(celsius):
            w0, w1 = weights(celsius, 2.0, 0.02)
            return lift(lambda a, b, d: celsius + ZERO + w0 * a + w1 * b + d)(u0, u1, drift)

        inlet, patch, outlet, foil = [seen(celsius) for celsius in shown[cooler]]
        own = lift(lambda p, e, r: (signal(p) - (1 - e) * signal(r)) / e)(patch, tape, foil)
        emissivity = lift(lambda t, p, r: (signal(t) - signal(r)) / (p - signal(r)))(inlet, own, foil)
        tanks = [skin(inlet, emissivity, foil), skin(outlet, emissivity, foil)]
        for tank, found in zip(("inlet", "outlet"), tanks):
            readings.append({"run": f"run {number}", "tank": tank, "surface": "bare", "skin": q(found[1], found[0]),
                             "emissivity": q(emissivity[1], emissivity[0])})
        scattered = [lift(lambda t, z: t + z)(found, (0.0, draw.normal(0, 0.4))) for found in tanks]
        runs[cooler] = [(*scattered, ambient)]
    reference = (runs["a"][0][0][0], 19 + ZERO)
    for cooler in "ab":
        coolers[cooler] = skins_to_quantities(runs[cooler], reference, draw)
    result = finish(coolers, "a", "b", draw)
    result["readings"] = readings
    return folder, result


if __name__ == "__main__":
    for folder, result in (stated(), patched()):
        budget = result.pop("budget")
        if budget:
            (folder / "budget.json").write_text(json.dumps(budget, indent=1, ensure_ascii=False) + "\n")
        (folder / "expected.json").write_text(json.dumps(to_face(result), indent=1, ensure_ascii=False) + "\n")

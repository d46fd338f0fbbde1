"""Where the doubt of the sample's skins and pressures comes from: squared correlations by numpy, 400 000 draws.

Reads the pictures of sample-images/tow-truck itself, and draws what its session states, repeated here in words of this script.
Of the tanks' skins as they were read (a series of pictures is their mean), what follows from them alone, the pressures and
the engine's sensor; charge air, walls and fitted series are no part of it. Writes ../data/uncertainty/sample/budget.json.
Run in this folder after: pip install -r requirements.txt
"""

import json
from pathlib import Path

import numpy as np
from PIL import Image

from monte_carlo import NAMED, OUT, ZERO, Session, finish, lift, named, signal, skin, skins_to_quantities, temperature, undo, weights

SAMPLE = Path(__file__).resolve().parents[2] / "sample-images" / "tow-truck"
PSI = 6894.757293168

# Cooler, name, ambient where it is the run's own, pictures, gauge pressures in psi, the engine's sensor in °C.
RUNS = [
    ("original", "hold 1", None, ["original-1.tiff"], (22.9, 21.9), 51),
    ("original", "hold 2", 18.4,
     ["original-2-at-60.png", "original-2-at-120.png", "original-2-at-180.png", "original-2.png"], (23.0, 22.0), 52),
    ("original", "hold 3", 18.2, ["original-3.csv"], (22.9, 21.8), 51),
    ("replacement", "hold 4", 17.6, ["replacement-1.tiff"], (23.4, 22.7), 37),
    ("replacement", "hold 5", 17.8, ["replacement-2.png"], (23.4, 22.7), 37),
    ("replacement", "hold 6", None, ["replacement-3.jpg"], (23.5, 22.8), 37),
]

# Tank and rectangle of each region; the foil stands in all pictures at one place.
REGIONS = {
    "original": [("inlet", (44, 56, 12, 66)), ("outlet", (184, 56, 12, 66))],
    "replacement": [("inlet", (44, 56, 10, 16)), ("inlet", (44, 106, 10, 16)),
                    ("outlet", (186, 56, 10, 16)), ("outlet", (186, 106, 10, 16))],
}
FOIL = (12, 80, 12, 18)
BAR = (256, 24, 16, 132)
LIMITS = (16.7, 67.7)


def colours(path):
    """°C of a picture in colours, each pixel by the nearest colour of the bar, and half a pixel of the bar, K."""
    picture = np.asarray(Image.open(path).convert("RGB"), dtype=float)
    x, y, width, height = BAR
    bar = picture[y:y + height, x + 2:x + width - 2].mean(axis=1)
    share = 1 - (np.arange(height) + 0.5) / height
    nearest = ((picture[:, :, None, :] - bar) ** 2).sum(axis=3).argmin(axis=2)
    low, high = LIMITS
    return low + (high - low) * share[nearest], 0.5 * (high - low) / height


def shown(name):
    """Kelvin shown by every pixel, and the half-width of what reading colours may err by, K."""
    path = SAMPLE / name
    if name.endswith(".csv"):
        return np.genfromtxt(path, delimiter=",") + ZERO, 0.0
    if name.endswith(".jpg"):
        celsius, half = colours(path)
        return celsius + ZERO, half
    step = 0.01 if name.endswith(".tiff") else 0.02
    return np.asarray(Image.open(path)).astype(float) * step, 0.0


def apparent(kelvin, rectangle):
    """The mean signal of a rectangle as a temperature, with the camera's setting undone, K."""
    x, y, width, height = rectangle
    mean = signal(kelvin[y:y + height, x:x + width]).mean()
    return undo(float(temperature(np.array([mean]))[0]), 0.95, 20 + ZERO)


def main():
    session = Session(3)
    draw = session.draw
    shop = named("conditions.ambient", session.rect(18 + ZERO, 0.5))
    barometer = named("conditions.barometer", session.rect(101_200.0, 200.0))
    u0 = named("instrument.camera.accuracy at 20 °C", (0.0, draw.even(-1, 1)))
    u1 = named("instrument.camera.accuracy at 120 °C", (0.0, draw.even(-1, 1)))
    gauge = named("instrument.gauge.accuracy", (0.0, draw.even(-1, 1)))
    emissivity = {
        "original": named("surface.moulded.emissivity (original)", (0.94, draw.even(0.92, 0.96))),
        "replacement": named("surface.tape.emissivity", (0.95, draw.even(0.93, 0.97))),
    }
    mean = lift(lambda *x: sum(x) / len(x))
    skins, notes, airs = {}, {}, []
    for cooler, run, own, pictures, taps, sensor in RUNS:
        ambient = named(f"run.{run}.conditions.ambient", session.rect(own + ZERO, 0.5)) if own else shop
        tanks = {"inlet": [], "outlet": []}
        for number, name in enumerate(pictures, 1):
            kelvin, half = shown(name)
            drift = named(f"run.{run}.snapshot {number} drift", (0.0, draw.even(-0.5, 0.5)))
            palette = (0.0, np.zeros(1))
            if half:
                palette = named(f"run.{run}.snapshot {number} palette", (0.0, draw.even(-1, 1)))

            def seen(rectangle):
                at = apparent(kelvin, rectangle)
                w0, w1 = weights(at - ZERO, 2.0, 0.02)
                return lift(lambda a, b, d, p: at + w0 * a + w1 * b + d + half * p)(u0, u1, drift, palette)

            foil = seen(FOIL)
            for tank, rectangle in REGIONS[cooler]:
                tanks[tank].append(skin(seen(rectangle), emissivity[cooler], foil))
        if cooler == "original":
            airs.append(ambient[0])
        skins.setdefault(cooler, []).append((mean(*tanks["inlet"]), mean(*tanks["outlet"]), ambient))
        absolute = []
        for tank, noted in zip(("inlet", "outlet"), taps):
            note = named(f"run.{run}.{tank}-pressure", session.rect(noted * PSI, 0.05 * PSI))
            absolute.append(lift(lambda x, g, b: x + 0.3 * PSI * g + b)(note, gauge, barometer))
        drop = lift(lambda a, b: a - b)(*absolute)
        loss = lift(lambda d, a: d / a)(drop, absolute[0])
        air = named(f"run.{run}.intake-air", session.rect(sensor + ZERO, 1.0))
        for name, pair in [("inlet_pressure", absolute[0]), ("outlet_pressure", absolute[1]), ("pressure_drop", drop),
                           ("pressure_loss", loss), ("intake_air", air)]:
            notes.setdefault(cooler, {}).setdefault(name, []).append(pair)
    reference = (np.mean([run[0][0] for run in skins["original"]]), np.mean(airs))
    coolers = {}
    for cooler, runs in skins.items():
        found = skins_to_quantities(runs, reference, draw)
        # The sample knows its charge air, so these are told of that.
        del found["effectiveness"], found["outlet_normalised"]
        coolers[cooler] = {**found, **notes[cooler]}
    budget = finish(coolers, "original", "replacement", draw)["budget"]
    folder = OUT / "sample"
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "budget.json").write_text(json.dumps(budget, indent=1, ensure_ascii=False) + "\n")


if __name__ == "__main__":
    main()

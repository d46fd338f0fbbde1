"""The sessions that sessions.py writes, as a technician would write them, and their pictures."""

import numpy as np
import tifffile

from sessions import csv, png16, scene

PAIR = """
[[run.snapshot]]
file = "{file}"
{more}
regions = [
  {{ name = "hot", tank = "inlet", rectangle = [1, 2, 7, 11] }},
  {{ name = "cold", tank = "outlet", rectangle = [16, 2, 7, 11] }},
]
"""


def tiff(path, array, dtype):
    tifffile.imwrite(path, np.asarray(array).astype(dtype))


def counts(celsius, step, zero_kelvin):
    return np.round((celsius + 273.15 - zero_kelvin) / step)


# ------------------------------------------------------------------ every shape

SHAPES = """
title = "Every shape, and pixels that hold nothing"

[conditions]
ambient = "18 °C ± 0.5"
reflected = "19 °C ± 2"

[instrument.camera]
emissivity = 1
pixels = { unit = "°C" }

[surface.moulded]
emissivity = "0.94 ± 0.02"

[cooler.original]
inlet = "moulded"
outlet = "moulded"

[[run]]
cooler = "original"
name = "hold 1"

[[run.snapshot]]
file = "shapes.tiff"
regions = [
  { name = "rectangle on centres", tank = "inlet", rectangle = [2.5, 3.5, 6, 5] },
  { name = "rectangle of fractions", tank = "inlet", rectangle = [2.25, 3.75, 5.5, 4.125] },
  { name = "rectangle over the corner", tank = "inlet", rectangle = [-4.5, -3, 9, 8.5] },
  { name = "rectangle over the far corner", tank = "outlet", rectangle = [35.5, 25.25, 20, 20] },
  { name = "rectangle around all", tank = "inlet", rectangle = [-10, -10, 100, 100] },
  { name = "triangle", tank = "inlet", polygon = [[4.5, 4.5], [14.5, 4.5], [4.5, 14.5]] },
  { name = "diamond", tank = "inlet", polygon = [[12.5, 2.5], [20.5, 10.5], [12.5, 18.5], [4.5, 10.5]] },
  { name = "bow tie", tank = "inlet", polygon = [[2, 2], [14, 12], [14, 2], [2, 12]] },
  { name = "star", tank = "inlet", polygon = [[10, 1.25], [14.75, 17.5], [2.5, 7.25], [18.25, 7.75], [5, 17.125]] },
  { name = "polygon over the edge", tank = "outlet", polygon = [[33.3, 12.1], [52.7, 18.9], [30.2, 27.6]] },
  { name = "circle on centres", tank = "inlet", circle = [10.5, 10.5, 5] },
  { name = "circle on a corner", tank = "inlet", circle = [10, 10, 2.5] },
  { name = "circle over the edge", tank = "outlet", circle = [39.5, 15.5, 6.5] },
  { name = "tiny circle", tank = "inlet", circle = [7.5, 7.5, 0.25] },
  { name = "ellipse on centres", tank = "outlet", ellipse = [30.5, 15.5, 5, 3] },
  { name = "ellipse of fractions", tank = "outlet", ellipse = [30.3, 14.9, 4.7, 8.2] },
  { name = "line along a row", tank = "inlet", line = [[2.5, 7.5], [19.5, 7.5]] },
  { name = "line along an edge", tank = "inlet", line = [[2.5, 7], [19.5, 7]] },
  { name = "line down an edge", tank = "inlet", line = [[9, 2.5], [9, 19.5]] },
  { name = "slanted line", tank = "inlet", line = [[2.2, 3.3], [18.7, 24.1]] },
  { name = "steep line upwards", tank = "outlet", line = [[30.6, 28.3], [26.1, 1.9]] },
  { name = "line over the edge", tank = "outlet", line = [[30.25, 10.6], [60.5, 20.2]] },
  { name = "point", tank = "inlet", point = [8.99, 9.01] },
  { name = "point on an edge", tank = "inlet", point = [8, 9] },
  { name = "point in the corner", tank = "outlet", point = [39.9, 29.9] },
  { name = "median", tank = "inlet", use = "median", rectangle = [1, 1, 8, 9] },
  { name = "median of an odd number", tank = "inlet", use = "median", rectangle = [1, 1, 7, 9] },
  { name = "maximum", tank = "outlet", use = "max", rectangle = [25, 3, 8, 9] },
  { name = "mean", tank = "outlet", use = "mean", rectangle = [25, 3, 8, 9] },
  { name = "with holes", tank = "inlet", rectangle = [1.5, 1.5, 18, 24], exclude = [{ circle = [8.5, 8.5, 3] }, { rectangle = [3.5, 14.5, 4, 4] }, { polygon = [[12, 3], [17, 3], [14.5, 9]] }, { line = [[2.2, 20.3], [18.4, 22.9]] }, { point = [14.5, 14.5] }, { ellipse = [15.5, 18.5, 3, 1.5] }] },
  { name = "unreadable ones", tank = "outlet", rectangle = [20, 20, 8, 6] },
]
"""


def shapes(folder):
    array = scene(1, 40, 30)
    array[20, 20], array[21, 21], array[22, 22] = np.nan, np.inf, -np.inf
    array[23, 23], array[24, 24], array[25, 25] = -300.0, -273.15, -273.16
    array[9, 9], array[5, 27] = np.nan, np.nan
    tiff(folder / "shapes.tiff", array, "f8")


# ------------------------------------------------------------------ every kind of picture

FORMATS = {
    "grey.tiff": 'pixels = { step = "0.5 K", zero = "-20 °C" }',
    "counts.tiff": 'pixels = { step = "0.01 K", zero = "0 K" }',
    "signed.tiff": 'pixels = { step = "0.01 °C", zero = "0 °C" }',
    "long.tiff": 'pixels = { step = "0.0018 °F", zero = "-459.67 °F" }',
    "kelvin.tiff": 'pixels = { unit = "K" }',
    "fahrenheit.tiff": 'pixels = { unit = "degF" }',
    "counts.png": 'pixels = { step = "0.02 K" }',
    "comma.csv": "",
    "plain.csv": 'pixels = { unit = "K" }',
}
FORMATS_TEXT = """
title = "Every kind of picture"

[conditions]
ambient = "18 °C ± 0.5"
reflected = "19 °C ± 2"

[instrument.camera]
band = "7.5 to 13 µm"
emissivity = 0.95
reflected = "20 °C"
pixels = { unit = "°C" }

[surface.moulded]
emissivity = 0.93

[cooler.original]
inlet = "moulded"
outlet = "moulded"
""" + "".join(
    f'\n[[run]]\ncooler = "original"\nname = "{file}"\n' + PAIR.format(file=file, more=more)
    for file, more in FORMATS.items()
)


def formats(folder):
    s = [scene(seed) for seed in range(10, 20)]
    tiff(folder / "grey.tiff", counts(s[0], 0.5, 253.15), "u1")
    hot = counts(s[1], 0.01, 0.0)
    hot[3, 3] = 0  # exactly 0 K: no temperature
    tiff(folder / "counts.tiff", hot, "u2")
    signed = counts(s[2], 0.01, 273.15)
    signed[4, 18], signed[5, 18] = -1234, -30000  # -12.34 °C is a temperature, -300 °C is none
    tiff(folder / "signed.tiff", signed, "i2")
    tiff(folder / "long.tiff", counts(s[3], 0.001, 0.0), "u4")
    tiff(folder / "kelvin.tiff", s[4] + 273.15, "f4")
    tiff(folder / "fahrenheit.tiff", s[5] * 1.8 + 32, "f8")
    png16(folder / "counts.png", counts(s[6], 0.02, 0.0))
    csv(folder / "comma.csv", s[7], ";", True)
    csv(folder / "plain.csv", s[8] + 273.15, ",", False)


# ------------------------------------------------------------------ every unit

UNITS = """
title = "The same kinds of value in every unit"
baseline = "b"

[conditions]
ambient = "64.4 °F ± 0.9"
cooling-air = "292.65 K ± 1"
reflected = "19.5 degC ± 2"
barometer = "29.77 inHg ± 0.05"
transmittance = "97 %"

[instrument.camera]
band = "8 to 14 um"
emissivity = "95 %"
reflected = "68 degF"
accuracy = "3.6 °F or 2 %"
drift = "0.9 °F"
pixels = { unit = "K" }

[instrument.gun]
band = "8 to 14 µm"
emissivity = 0.95
reflected = "294 K"

[surface.moulded]
emissivity = "94 % ± 2"
wall = "0.12 in"

[cooler.a]
inlet = "moulded"
outlet = "moulded"

[cooler.b]
inlet = "moulded"
outlet = "moulded"

[view.both]
regions = [
  { name = "hot", tank = "inlet", rectangle = [1, 2, 7, 11] },
  { name = "cold", tank = "outlet", rectangle = [16, 2, 7, 11], reflected = "70 °F" },
]
"""
UNIT_RUNS = [
    ("a", "psi", "22.9 psi", "21.9 psi", "37 °C", "98.6 °F"),
    ("a", "kPa", "157.9 kPa ± 0.5", "151.0 kPa ± 0.5", "99 degF", "310.4 K"),
    ("a", "bar", "1.579 bar", "1.510 bar", "310.15 K", "37 C"),
    ("b", "mbar", "1579 mbar", "1510 mbar", "37.5 C", "37.5 degC"),
    ("b", "hPa", "1579 hPa ± 2 %", "1510 hPa +/- 5", "36.5 º C".replace("º C", "ºC"), "99 F"),
    ("b", "inHg", "46.6 inHg", "44.6 inHg", "99 F", "98 degF"),
    ("b", "Pa", "157900 to 158100 Pa", "151000 Pa ± 100 (k=2)", "37.0 degC ± 1", "−3.5 °C"),
]
UNITS += "".join(
    f"""
[[run]]
cooler = "{cooler}"
name = "{name}"
inlet-pressure = "{inlet}"
outlet-pressure = "{outlet}"
intake-air = "{intake}"

[[run.snapshot]]
file = "{name}.tiff"
view = "both"
instrument = "camera"

[[run.pistol]]
tank = "outlet"
reading = "{pistol}"
instrument = "gun"
"""
    for cooler, name, inlet, outlet, intake, pistol in UNIT_RUNS
)


def units(folder):
    for seed, run in enumerate(UNIT_RUNS):
        tiff(folder / f"{run[1]}.tiff", scene(30 + seed) + 273.15, "f4")


# ------------------------------------------------------------------ settings, bands, path

INSTRUMENTS = {
    "none": 'emissivity = 1',
    "usual": 'emissivity = 0.95\nreflected = "21.5 °C"',
    "usual-unstated": 'emissivity = 0.95',
    "metal": 'emissivity = 0.3\nreflected = "16 °C"',
    "metal-unstated": 'emissivity = 0.3',
    "wide": 'band = "7.5 to 13 µm"\nemissivity = 0.95\nreflected = "21.5 °C"',
    "short": 'band = "3 to 5 µm"\nemissivity = 0.95\nreflected = "21.5 °C"',
    "short-metal": 'band = "3 to 5 µm"\nemissivity = 0.3',
}
SETTINGS = """
title = "What the camera was set to, its band, and the air between"

[conditions]
ambient = "17.3 °C ± 0.5"
reflected = "23 °C ± 2"

[surface.moulded]
emissivity = 0.94

[surface.bare]
emissivity = "0.5 ± 0.05"

[cooler.original]
inlet = "moulded"
outlet = "bare"
""" + "".join(f'\n[instrument.{name}]\n{text}\npixels = {{ unit = "°C" }}\n' for name, text in INSTRUMENTS.items())
SETTINGS += "".join(
    f"""
[[run]]
cooler = "original"
name = "{name}, {clear}"

[run.conditions]
ambient = "{17.3 + 4 * at} °C ± 0.5"
transmittance = {clear}
"""
    + PAIR.format(file="scene.tiff", more=f'instrument = "{name}"')
    for at, name in enumerate(INSTRUMENTS)
    for clear in (1.0, 0.85)
)


def settings(folder):
    tiff(folder / "scene.tiff", scene(50, low=45), "f4")


# ------------------------------------------------------------------ what the tanks mirror

REFLECTED = """
title = "What the tanks mirror: stated, read from foil, of a region alone, or assumed"

[conditions]
ambient = "18 °C ± 0.5"
transmittance = 0.93

[instrument.camera]
emissivity = 0.95
reflected = "20 °C"
pixels = { unit = "°C" }

[surface.half]
emissivity = 0.6

[cooler.original]
inlet = "half"
outlet = "half"

[view.foil]
regions = [
  { name = "hot", tank = "inlet", rectangle = [1, 2, 6, 11] },
  { name = "hot, under the lamp", tank = "inlet", rectangle = [1, 2, 3, 11], reflected = "29 °C ± 2" },
  { name = "cold", tank = "outlet", rectangle = [16, 2, 3, 11] },
  { name = "crumpled foil", role = "reflector", circle = [21, 8, 2.5] },
]

[view.bare]
regions = [
  { name = "hot", tank = "inlet", rectangle = [1, 2, 6, 11] },
  { name = "hot, under the lamp", tank = "inlet", rectangle = [1, 2, 3, 11], reflected = "29 °C ± 2" },
  { name = "cold", tank = "outlet", rectangle = [16, 2, 3, 11] },
]

[[run]]
cooler = "original"
name = "foil"
[[run.snapshot]]
file = "a.tiff"
view = "foil"

[[run]]
cooler = "original"
name = "foil, but stated"
[run.conditions]
reflected = "24.5 °C ± 1"
[[run.snapshot]]
file = "b.tiff"
view = "foil"

[[run]]
cooler = "original"
name = "stated"
[run.conditions]
reflected = "24.5 °C ± 1"
[[run.snapshot]]
file = "a.tiff"
view = "bare"

[[run]]
cooler = "original"
name = "assumed"
[run.conditions]
ambient = "21 °C ± 0.5"
[[run.snapshot]]
file = "b.tiff"
view = "bare"
"""


def reflected(folder):
    for seed, name in ((60, "a"), (61, "b")):
        tiff(folder / f"{name}.tiff", scene(seed, low=33), "f4")


# ------------------------------------------------------------------ patches and contact

PATCHES = """
title = "Emissivity from a patch of tape and from a contact probe"
baseline = "welded"

[conditions]
ambient = "18 °C ± 0.5"
reflected = "22 °C ± 2"
transmittance = 0.96
barometer = "1003 hPa"

[instrument.camera]
band = "7.5 to 13 µm"
emissivity = 0.95
reflected = "20 °C"
pixels = { step = "0.01 K", zero = "0 K" }

[surface.tape]
emissivity = "0.95 ± 0.02"
shared = true

[surface.welded]
emissivity = "from patch"

[surface.cast]
emissivity = "from contact"

[surface.moulded]
emissivity = 0.94

[cooler.welded]
inlet = "welded"
outlet = "moulded"

[cooler.cast]
inlet = "cast"
outlet = "moulded"

[[run]]
cooler = "welded"
name = "with tape"
[[run.snapshot]]
file = "tape.tiff"
regions = [
  { name = "hot", tank = "inlet", rectangle = [1, 2, 6, 5] },
  { name = "tape on hot", role = "patch", tank = "inlet", surface = "tape", ellipse = [4, 11, 3, 2.5] },
  { name = "cold", tank = "outlet", rectangle = [16, 2, 7, 11] },
]

[[run]]
cooler = "welded"
name = "without tape"
[run.conditions]
reflected = "24 °C ± 2"
ambient = "19 °C ± 0.5"
cooling-air = "20.5 °C ± 0.5"
[[run.snapshot]]
file = "bare.tiff"
regions = [
  { name = "hot", tank = "inlet", rectangle = [1, 2, 6, 5] },
  { name = "taped cold", tank = "outlet", surface = "tape", rectangle = [16, 2, 7, 11] },
]

[[run]]
cooler = "cast"
name = "with probe"
[[run.contact]]
tank = "inlet"
temperature = "171.5 °F ± 1"
[[run.snapshot]]
file = "cast.tiff"
regions = [
  { name = "hot", tank = "inlet", rectangle = [1, 2, 6, 5] },
  { name = "cold", tank = "outlet", rectangle = [16, 2, 7, 11] },
]

[[run]]
cooler = "cast"
name = "without probe"
[[run.snapshot]]
file = "bare.tiff"
regions = [
  { name = "hot", tank = "inlet", rectangle = [1, 2, 6, 5] },
  { name = "cold", tank = "outlet", rectangle = [16, 2, 7, 11] },
]
"""


def patches(folder):
    tape, bare, cast = scene(70), scene(71), scene(72)
    for picture in (tape, bare, cast):
        picture[:8, :9] = 35 + (picture[:8, :9] - 60) * 0.3
    for name, picture in (("tape", tape), ("bare", bare), ("cast", cast)):
        tiff(folder / f"{name}.tiff", counts(picture, 0.01, 0.0), "u2")


# ------------------------------------------------------------------ pistol readings, one cooler

PISTOL = """
title = "Pistol readings of one cooler"

[conditions]
ambient = "12.5 °C ± 0.5"
cooling-air = "14 °C ± 1"

[instrument.fixed]
emissivity = 0.95
distance-ratio = "12:1"

[instrument.plain]
emissivity = 1

[surface.moulded]
emissivity = 0.9

[surface.painted]
emissivity = 0.8

[cooler.only]
inlet = "moulded"
outlet = "painted"
"""
PISTOL += "".join(
    f"""
[[run]]
cooler = "only"
name = "hold {n}"
[[run.pistol]]
tank = "inlet"
reading = "{hot} °C"
instrument = "fixed"
[[run.pistol]]
tank = "outlet"
reading = "{cold} °C"
instrument = "plain"
"""
    for n, hot, cold in ((1, 64, 27), (2, "63.5", "28.2"), (3, 250, "-5"))
)

# ------------------------------------------------------------------ three coolers, the baseline last

THREE = """
title = "Three coolers, the baseline named last, with pressures noted in three ways"
baseline = "stock"

[conditions]
ambient = "18 °C ± 0.5"
reflected = "20 °C ± 1"

[instrument.camera]
emissivity = 1
pixels = { unit = "°C" }

[instrument.absolute-gauge]
measures = ["inlet-pressure"]
accuracy = "2 kPa"
reference = "absolute"

[instrument.plain-gauge]
measures = ["outlet-pressure"]
accuracy = "2 kPa"

[surface.moulded]
emissivity = 0.94

[surface.painted]
emissivity = 0.91

[cooler.big]
inlet = "painted"
outlet = "painted"

[cooler.cheap]
inlet = "moulded"
outlet = "moulded"

[cooler.stock]
inlet = "moulded"
outlet = "moulded"
"""
THREE_RUNS = [
    ("big", 'inlet-pressure = "262 kPa"\noutlet-pressure = "157 kPa"\nintake-air = "30 °C"', "18.8"),
    ("cheap", 'inlet-pressure = "261 kPa"\ndifferential-pressure = "1.1 psi ± 0.1"', "16"),
    ("stock", 'inlet-pressure = "259 kPa"\noutlet-pressure = "151 kPa"\nintake-air = "37 °C"', "17"),
    ("big", 'differential-pressure = "4.9 kPa"\nintake-air = "31 °C"', "18"),
    ("stock", 'inlet-pressure = "258 kPa"\ndifferential-pressure = "72 mbar"', "19"),
    ("cheap", 'outlet-pressure = "150 kPa"\nintake-air = "39 °C"', "18.2"),
]
THREE += "".join(
    f'\n[[run]]\ncooler = "{cooler}"\nname = "hold {n}"\n{notes}\n\n[run.conditions]\ncooling-air = "{air} °C ± 0.5"\n'
    + ('barometer = "1009 hPa ± 1"\n' if n == 5 else "")
    + PAIR.format(file=f"{n}.csv", more="")
    for n, (cooler, notes, air) in enumerate(THREE_RUNS)
)


def three(folder):
    for n in range(len(THREE_RUNS)):
        csv(folder / f"{n}.csv", scene(80 + n, high=65 + 3 * n), ";" if n % 2 else ",", n % 2 == 1)


# ------------------------------------------------------------------ raw signal

RAW = """
title = "Raw signal with the camera's constants"

[conditions]
ambient = "18 °C ± 0.5"
reflected = "20 °C ± 1"
transmittance = 0.9

[instrument.camera]
pixels = { sakuma-hattori = { a = 9.36, b = 178.4, c = 36000 } }

[surface.moulded]
emissivity = 0.8

[cooler.only]
inlet = "moulded"
outlet = "moulded"

[[run]]
cooler = "only"
name = "hold 1"
""" + PAIR.format(file="raw.tiff", more="")


def raw(folder):
    kelvin = scene(90) + 273.15
    signal = 36000 / np.expm1(14387.768775 / (9.36 * kelvin + 178.4))
    array = np.round(signal)
    array[5, 5] = 0
    tiff(folder / "raw.tiff", array, "u2")


SESSIONS = {
    "shapes": (SHAPES, shapes),
    "formats": (FORMATS_TEXT, formats),
    "units": (UNITS, units),
    "settings": (SETTINGS, settings),
    "reflected": (REFLECTED, reflected),
    "patches": (PATCHES, patches),
    "pistol": (PISTOL, lambda folder: None),
    "three": (THREE, three),
    "raw": (RAW, raw),
}

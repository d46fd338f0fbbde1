"""Writes small sessions with pictures, and what a second, independent evaluation makes of them.

The evaluation here follows the design's words only and shares nothing with the program: it reads the session's TOML,
its units and its pictures itself, integrates Planck's law by quadrature and inverts it by root finding.

    pip install -r tests/reference/requirements.txt
    python tests/reference/sessions.py tests/data/sessions
"""

import functools
import json
import math
import re
import shutil
import struct
import sys
import tomllib
import zlib
from fractions import Fraction
from pathlib import Path

import numpy as np
import tifffile
from scipy.integrate import fixed_quad, quad
from scipy.optimize import brentq

# CODATA 2018, exact.
H, C, K = 6.62607015e-34, 299792458.0, 1.380649e-23
C2 = H * C / K * 1e6  # µm K
C1L = 2 * H * C * C  # W m2 / sr

# ---------------------------------------------------------------- units

PRESSURES = {
    "Pa": 1.0, "hPa": 100.0, "mbar": 100.0, "kPa": 1e3, "bar": 1e5,
    "psi": 0.45359237 * 9.80665 / 0.0254**2, "inHg": 3386.389,
}
LENGTHS = {"m": 1.0, "cm": 1e-2, "mm": 1e-3, "µm": 1e-6, "um": 1e-6, "in": 0.0254}


def split(text):
    """Central number and unit of a written value; limits are left away."""
    text = text.replace("−", "-").replace("º", "°").replace("μ", "µ").strip()
    ends = re.fullmatch(r"(\S+) to (\S+) (\S+)", text)
    if ends:
        return (float(ends[1]) + float(ends[2])) / 2, ends[3]
    found = re.match(r"([+-]?[0-9.]+(?:[eE][+-]?\d+)?)\s*(.*)", text)
    rest = re.sub(r"(±|\+/-|×/÷|x/)\s*[0-9.]+", "", found[2])
    rest = re.sub(r"\(k=2\)", "", rest)
    return float(found[1]), rest.strip().split(" ")[0]


def temperature(text):
    """Kelvin."""
    number, unit = split(text)
    if unit in ("°C", "degC", "C"):
        return number + 273.15
    if unit in ("°F", "degF", "F"):
        return (number - 32) * 5 / 9 + 273.15
    assert unit == "K", text
    return number


def difference(text):
    """Kelvin."""
    number, unit = split(text)
    return number * 5 / 9 if "F" in unit else number


def pressure(text):
    """Pascal."""
    number, unit = split(text)
    return number * PRESSURES[unit]


def bare(value):
    """A pure number or a share."""
    if isinstance(value, (int, float)):
        return value
    number, unit = split(value)
    return number / 100 if unit == "%" else number


# ---------------------------------------------------------------- radiation


class Band:
    def __init__(self, low, high):
        self.low, self.high = low, high
        self.cached = functools.lru_cache(None)(self._signal)

    def _radiance(self, um, kelvin):
        return C1L / (um * 1e-6) ** 5 / np.expm1(C2 / (um * kelvin)) * 1e-6

    def _signal(self, kelvin):
        value, _ = quad(self._radiance, self.low, self.high, args=(kelvin,), epsrel=1e-12, epsabs=0, limit=200)
        return value

    def signal(self, kelvin):
        return self.cached(float(kelvin))

    def signals(self, kelvins):
        """The same for many: fixed nodes, held against the adaptive rule."""
        distinct, back = np.unique(kelvins, return_inverse=True)
        many = np.array([fixed_quad(self._radiance, self.low, self.high, args=(t,), n=60)[0] for t in distinct])
        if len(distinct):
            assert abs(many[0] / self.signal(distinct[0]) - 1) < 1e-10
        return many[back]

    def temperature(self, signal):
        return brentq(lambda t: self.signal(t) / signal - 1, 150, 2000, xtol=1e-9, rtol=1e-13)


class Raw:
    """The Sakuma-Hattori form: the numbers of the picture are the signal."""

    def __init__(self, a, b, c):
        self.a, self.b, self.c = a, b, c

    def signal(self, kelvin):
        return self.c / math.expm1(C2 / (self.a * kelvin + self.b))

    def temperature(self, signal):
        return (C2 / math.log1p(self.c / signal) - self.b) / self.a


# ---------------------------------------------------------------- shapes


def centres(x, y):
    return Fraction(2 * x + 1, 2), Fraction(2 * y + 1, 2)


def in_polygon(points, cx, cy):
    left = 0
    for (ax, ay), (bx, by) in zip(points, points[1:] + points[:1]):
        if (ay <= cy) != (by <= cy):
            left += ax + (cy - ay) * (bx - ax) / (by - ay) <= cx
    return left % 2 == 1


def on_line(a, b):
    """Pixels of which the line covers a part of its length."""
    stops = {Fraction(0), Fraction(1)}
    for p, q in zip(a, b):
        low, high = sorted((p, q))
        for edge in range(math.floor(low), math.ceil(high) + 1):
            if low < edge < high:
                stops.add((edge - p) / (q - p))
    stops = sorted(stops)
    found = set()
    for s, t in zip(stops, stops[1:]):
        middle = (s + t) / 2
        found.add(tuple(math.floor(p + middle * (q - p)) for p, q in zip(a, b)))
    return found


def covered(shape, width, height):
    """The pixels of a shape inside the picture."""
    exact = lambda v: [Fraction(n) for n in v]
    whole = [(x, y) for y in range(height) for x in range(width)]
    if "rectangle" in shape:
        x0, y0, w, h = exact(shape["rectangle"])
        test = lambda x, y: x0 <= centres(x, y)[0] < x0 + w and y0 <= centres(x, y)[1] < y0 + h
    elif "polygon" in shape:
        points = [tuple(exact(p)) for p in shape["polygon"]]
        test = lambda x, y: in_polygon(points, *centres(x, y))
    elif "circle" in shape or "ellipse" in shape:
        numbers = exact(shape.get("circle") or shape["ellipse"])
        x0, y0, rx, ry = (numbers + numbers[-1:])[:4]
        test = lambda x, y: ((centres(x, y)[0] - x0) / rx) ** 2 + ((centres(x, y)[1] - y0) / ry) ** 2 <= 1
    elif "line" in shape:
        pixels = on_line(*[exact(p) for p in shape["line"]])
        test = lambda x, y: (x, y) in pixels
    else:
        px, py = (math.floor(v) for v in shape["point"])
        test = lambda x, y: abs(x - px) <= 1 and abs(y - py) <= 1
    return {(x, y) for x, y in whole if test(x, y)}


# ---------------------------------------------------------------- pictures


def png16(path, array):
    def chunk(kind, body):
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    height, width = array.shape
    rows = b"".join(b"\0" + row.astype(">u2").tobytes() for row in array)
    head = struct.pack(">IIBBBBB", width, height, 16, 0, 0, 0, 0)
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(rows)) + chunk(b"IEND", b""))


def csv(path, array, separator, comma):
    rows = (separator.join(f"{n:.3f}".replace(".", "," if comma else ".") for n in row) for row in array)
    path.write_text("\n".join(rows) + "\n")


def scene(seed, width=24, height=16, low=25.0, high=70.0):
    """A hot left half, a cold right half and noise, °C."""
    rng = np.random.default_rng(seed)
    across = np.linspace(high, low, width)[None, :] + np.linspace(0, 3, height)[:, None]
    return np.round(across + rng.normal(0, 0.8, (height, width)), 2)


def numbers_of(path):
    """What the file holds, read back by the reference's own means."""
    if path.suffix == ".tiff":
        return tifffile.imread(path).astype(float)
    if path.suffix == ".png":
        data, rows, at, width = b"", [], 8, 0
        blob = path.read_bytes()
        while at < len(blob):
            size, kind = struct.unpack(">I4s", blob[at : at + 8])
            body = blob[at + 8 : at + 8 + size]
            if kind == b"IHDR":
                width = struct.unpack(">I", body[:4])[0]
            if kind == b"IDAT":
                data += body
            at += 12 + size
        data = zlib.decompress(data)
        for start in range(0, len(data), 2 * width + 1):
            assert data[start] == 0
            rows.append(np.frombuffer(data[start + 1 : start + 1 + 2 * width], ">u2"))
        return np.array(rows).astype(float)
    text = path.read_text()
    if ";" in text:
        text = text.replace(",", ".").replace(";", ",")
    return np.array([[float(n) for n in line.split(",")] for line in text.split()])


# ---------------------------------------------------------------- evaluation


class Evaluation:
    def __init__(self, folder):
        self.folder = folder
        self.session = tomllib.loads((folder / "session.toml").read_text())
        self.instruments = {
            name: table for name, table in self.session.get("instrument", {}).items() if "measures" not in table
        }
        self.gauges = [t for t in self.session.get("instrument", {}).values() if "measures" in t]
        self.detectors = {}
        self.readings, self.solved, self.pairs = [], {}, []

    def conditions(self, run):
        return {**self.session.get("conditions", {}), **run.get("conditions", {})}

    def detector(self, instrument, pixels):
        if pixels and "sakuma-hattori" in pixels:
            return Raw(**pixels["sakuma-hattori"])
        low, high = re.fullmatch(r"(\S+) to (\S+) (?:µm|um)", instrument.get("band", "8 to 14 µm")).groups()
        return self.detectors.setdefault((low, high), Band(float(low), float(high)))

    def instrument(self, entry):
        name = entry.get("instrument") or next(iter(self.instruments))
        return self.instruments[name]

    def emissivity(self, cooler, surface):
        written = self.session["surface"][surface]["emissivity"]
        return self.solved.get((cooler, surface)) if str(written).startswith("from") else bare(written)

    def setting(self, instrument, run, detector):
        own = bare(instrument.get("emissivity", 1))
        mirrored = temperature(instrument.get("reflected") or self.conditions(run)["ambient"])
        return own, (1 - own) * detector.signal(mirrored) if own < 1 else 0.0

    def without_path(self, signal, run, detector):
        conditions = self.conditions(run)
        clear = bare(conditions.get("transmittance", 1.0))
        return (signal - (1 - clear) * detector.signal(temperature(conditions["ambient"]))) / clear

    def measure(self, run, snapshot):
        instrument = self.instrument(snapshot)
        pixels = snapshot.get("pixels") or instrument["pixels"]
        detector = self.detector(instrument, pixels)
        numbers = numbers_of(self.folder / snapshot["file"])
        height, width = numbers.shape
        own, offset = self.setting(instrument, run, detector)
        measured = []
        for region in snapshot.get("regions") or self.session["view"][snapshot["view"]]["regions"]:
            mask = covered(region, width, height)
            for shape in region.get("exclude", []):
                mask -= covered(shape, width, height)
            values = np.array([numbers[y, x] for x, y in sorted(mask)])
            if isinstance(detector, Raw):
                valid = values[np.isfinite(values) & (values > 0)]
                kelvin = np.array([detector.temperature(v) for v in valid])
                signals = valid
            else:
                if "unit" in pixels:
                    one, zero = difference("1 " + pixels["unit"]), temperature("0 " + pixels["unit"])
                else:
                    one, zero = difference(pixels["step"]), temperature(pixels.get("zero", "0 K"))
                kelvin = values * one + zero
                kelvin = kelvin[np.isfinite(kelvin) & (kelvin > 0)]
                signals = detector.signals(kelvin)
            signals = own * signals + offset
            picked = {"mean": np.mean, "median": np.median, "max": np.max}[region.get("use", "mean")](signals)
            celsius = kelvin - 273.15
            shown = {
                "mean": np.mean(celsius), "min": np.min(celsius), "max": np.max(celsius), "median": np.median(celsius),
                "std": np.std(celsius), "p05": np.percentile(celsius, 5), "p95": np.percentile(celsius, 95),
            }
            measured.append({
                "region": region, "name": region["name"], "pixels": len(kelvin), "shown": shown, "run": run,
                "invalid_pixels": len(mask) - len(kelvin), "signal": float(picked), "detector": detector,
                "source": snapshot["file"], "role": region.get("role", "tank"), "tank": region.get("tank"),
            })
        mirrors = [m for m in measured if m["role"] == "reflector"]
        for m in measured:
            m["mirror"] = mirrors[0] if mirrors else None
        return measured

    def reflected(self, reading):
        """Kelvin: the reflector's in the same picture, the region's own, the stated one, or the middle of what is assumed."""
        run, conditions = reading["run"], self.conditions(reading["run"])
        if reading["mirror"]:
            foil = reading["mirror"]
            return foil["detector"].temperature(self.without_path(foil["signal"], run, foil["detector"]))
        stated = reading["region"].get("reflected") or conditions.get("reflected")
        if stated:
            return temperature(stated)
        return temperature(conditions["ambient"]) + 5

    def surface_of(self, reading):
        if "surface" in reading["region"]:
            return reading["region"]["surface"]
        return self.session["cooler"][reading["run"]["cooler"]][reading["tank"]]

    def collect(self):
        for run in self.session["run"]:
            for snapshot in run.get("snapshot", []):
                self.readings += self.measure(run, snapshot)
            for pistol in run.get("pistol", []):
                instrument = self.instrument(pistol)
                detector = self.detector(instrument, None)
                own, offset = self.setting(instrument, run, detector)
                kelvin = temperature(pistol["reading"])
                self.readings.append({
                    "region": {}, "name": pistol["tank"], "shown": {"mean": kelvin - 273.15}, "run": run,
                    "signal": own * detector.signal(kelvin) + offset, "detector": detector, "source": "pistol",
                    "role": "tank", "tank": pistol["tank"], "mirror": None,
                })

    def skin(self, reading, emissivity):
        detector, run = reading["detector"], reading["run"]
        seen = self.without_path(reading["signal"], run, detector)
        mirrored = detector.signal(self.reflected(reading))
        return detector.temperature((seen - (1 - emissivity) * mirrored) / emissivity)

    def solve_emissivities(self):
        """From one patch or one contact reading for each surface and cooler; the sessions here have no more."""
        for tank in [r for r in self.readings if r["role"] == "tank" and r["source"] != "pistol"]:
            run, surface = tank["run"], self.surface_of(tank)
            way = str(self.session["surface"][surface]["emissivity"])
            known = None
            if way == "from patch":
                same = [
                    r for r in self.readings
                    if r["role"] == "patch" and r["tank"] == tank["tank"] and r["source"] == tank["source"]
                ]
                if same:
                    known = self.skin(same[0], self.emissivity(run["cooler"], same[0]["region"]["surface"]))
            elif way == "from contact":
                same = [c for c in run.get("contact", []) if c["tank"] == tank["tank"]]
                if same:
                    known = temperature(same[0]["temperature"])
            if known is not None:
                assert (run["cooler"], surface) not in self.solved, "the reference takes one piece of evidence"
                detector = tank["detector"]
                mirrored = detector.signal(self.reflected(tank))
                seen = self.without_path(tank["signal"], run, detector)
                self.solved[run["cooler"], surface] = (seen - mirrored) / (detector.signal(known) - mirrored)

    def pressures(self, run):
        conditions = self.conditions(run)
        air = pressure(conditions["barometer"]) if "barometer" in conditions else 101325.0

        def absolute(key):
            if key not in run:
                return None
            gauge = next((g for g in self.gauges if key in g["measures"]), {})
            return pressure(run[key]) + (0 if gauge.get("reference") == "absolute" else air)

        inlet, outlet = absolute("inlet-pressure"), absolute("outlet-pressure")
        drop = None
        if "differential-pressure" in run:
            drop = pressure(run["differential-pressure"])
            if inlet is not None and outlet is None:
                outlet = inlet - drop
        elif inlet is not None and outlet is not None:
            drop = inlet - outlet
        found = {
            "inlet_pressure": inlet, "outlet_pressure": outlet, "pressure_drop": drop,
            "pressure_loss": drop / inlet if drop is not None and inlet else None,
        }
        return {k: v / (1 if k == "pressure_loss" else 1e3) for k, v in found.items() if v is not None}

    def of_run(self, run):
        found = self.pressures(run)
        tanks = {}
        for tank in ("inlet", "outlet"):
            skins = [r["skin"] for r in self.readings if r["run"] is run and r["role"] == "tank" and r["tank"] == tank]
            if skins:
                tanks[tank] = float(np.mean(skins))
                found[f"{tank}_surface"] = tanks[tank] - 273.15
        conditions = self.conditions(run)
        air = temperature(conditions.get("cooling-air") or conditions["ambient"])
        if len(tanks) == 2:
            found["surface_drop"] = tanks["inlet"] - tanks["outlet"]
            found["surface_effectiveness"] = found["surface_drop"] / (tanks["inlet"] - air)
        if "intake-air" in run:
            found["intake_air"] = temperature(run["intake-air"]) - 273.15
            if "outlet_pressure" in found:
                found["outlet_density"] = found["outlet_pressure"] * 1e3 / 287.05 / temperature(run["intake-air"])
        return {"cooling air": air - 273.15, **found}

    def coolers(self):
        runs = self.session["run"]
        baseline = self.session.get("baseline") or runs[0]["cooler"]
        values = {}
        for key in self.session["cooler"]:
            own = [self.of_run(run) for run in runs if run["cooler"] == key]
            names = {name for run in own for name in run}
            values[key] = {name: float(np.mean([run[name] for run in own if name in run])) for name in names}
        reference = values[baseline]
        for found in values.values():
            if "surface_effectiveness" in found and "inlet_surface" in reference:
                span = reference["inlet_surface"] - reference["cooling air"]
                found["outlet_surface_normalised"] = reference["inlet_surface"] - found["surface_effectiveness"] * span
                # Nothing here says more of the air than the skins do.
                found["effectiveness"] = found["surface_effectiveness"]
                found["outlet_normalised"] = found["outlet_surface_normalised"]
        for found in values.values():
            found.pop("cooling air")
        return baseline, values

    def expected(self):
        self.collect()
        self.solve_emissivities()
        rows = []
        for r in self.readings:
            row = {
                "cooler": r["run"]["cooler"], "run": r["run"]["name"], "source": r["source"], "region": r["name"],
                "role": r["role"], "shown": r["shown"], "apparent": r["detector"].temperature(r["signal"]) - 273.15,
            }
            for key in ("pixels", "invalid_pixels"):
                if key in r:
                    row[key] = r[key]
            if r["role"] != "reflector":
                emissivity = self.emissivity(r["run"]["cooler"], self.surface_of(r))
                r["skin"] = self.skin(r, emissivity)
                row["emissivity"], row["reflected"] = emissivity, self.reflected(r) - 273.15
                row["surface_temperature"] = r["skin"] - 273.15
            rows.append(row)
        baseline, values = self.coolers()
        differences = {
            key: {name: found[name] - values[baseline][name] for name in found if name in values[baseline]}
            for key, found in values.items() if key != baseline
        }
        return {"baseline": baseline, "readings": rows, "coolers": values, "differences": differences}


def main(target):
    from sessions_to_write import SESSIONS

    for name, (text, pictures) in SESSIONS.items():
        folder = target / name
        shutil.rmtree(folder, ignore_errors=True)
        folder.mkdir(parents=True)
        (folder / "session.toml").write_text(text.lstrip())
        pictures(folder)
        expected = Evaluation(folder).expected()
        (folder / "expected.json").write_text(json.dumps(expected, indent=1, ensure_ascii=False) + "\n")


if __name__ == "__main__":
    main(Path(sys.argv[1]))

"""Means over windows of a made-up log, and their standard uncertainties, by numpy.

    pip install -r tests/reference/requirements-log.txt
    python tests/reference/log_windows.py

Writes tests/data/log/windows.csv. The log itself is not kept: tests/log_reference.rs makes the same one by the same
formulas, which use only sums and products of doubles and whole numbers, so that both have the same digits.

`standard` follows docs/logs.md (blocks of 1, 2, 4 ... values), written independently. `independent` is the integrated
autocorrelation time by Geyer's initial positive sequence, for columns that are steady noise: another way to the same figure.
"""

import pathlib

import numpy as np

ROWS = 1_000_000
PERIOD = 20_000
MASK = (1 << 64) - 1


class Noise:
    """Even numbers between -0.5 and 0.5."""

    def __init__(self, seed):
        self.state = seed

    def next(self):
        self.state = (self.state * 6364136223846793005 + 1442695040888963407) & MASK
        return (self.state >> 11) / 9007199254740992.0 - 0.5


def remembering(seed, share, scale):
    """x' = share x + scale u, for every row."""
    noise, x, out = Noise(seed), 0.0, np.empty(ROWS)
    for row in range(ROWS):
        x = share * x + scale * noise.next()
        out[row] = x
    return out


def digits(values):
    """Four decimals, as the log is written."""
    return np.floor(values * 1e4 + 0.5) / 1e4


def log():
    row = np.arange(ROWS)
    place = row % PERIOD
    up = np.where(place < PERIOD // 2, place, PERIOD - place) * (2.0 / PERIOD)
    ramp = 1200.0 + 2600.0 * up
    flow = 30.0 + 120.0 * up
    return {
        "time": row / 100.0,
        "engine-speed": digits(ramp + remembering(1, 0.9, 8.0)),
        "inlet-pressure": digits(20.0 + 130.0 * up + remembering(2, 0.97, 0.5)),
        "outlet-pressure": digits(18.0 + 122.0 * up + remembering(3, 0.0, 1.0)),
        "intake-air": digits(40.0 + remembering(4, 0.99, 0.2)),
        "outlet-air": digits(38.0 + remembering(5, 0.0, 0.5)),
        "inlet-air": np.where(row % 97 == 5, np.nan, digits(60.0 + 70.0 * up + remembering(6, 0.5, 0.4))),
        "air-flow": digits(flow + remembering(7, 0.8, 0.6)),
    }


def blocks(values):
    """docs/logs.md."""
    n, length, single, greatest = len(values), 1, None, 0.0
    while len(values) >= 4:
        k = len(values)
        variance = values.var(ddof=1) / k
        single = variance if single is None else single
        standard = np.sqrt(variance * (k - 1) / (k - 3))
        if length**3 > 2 * n * (variance / single) ** 2:
            return standard
        greatest = max(greatest, standard)
        values = values[: k // 2 * 2].reshape(-1, 2).mean(axis=1)
        length *= 2
    return greatest


def geyer(values):
    """Geyer, Statistical Science 7, 473 (1992): the sum of pairs of autocovariances until one is not positive."""
    n = len(values)
    centred = values - values.mean()
    spectrum = np.fft.rfft(centred, 2 * n)
    covariance = np.fft.irfft(spectrum * np.conj(spectrum))[:n] / n
    pairs = covariance[0 : n // 2 * 2 : 2] + covariance[1 : n // 2 * 2 : 2]
    last = np.argmax(pairs <= 0)
    return np.sqrt((2 * pairs[:last].sum() - covariance[0]) / n)


def peak(columns):
    """The rows up to one second before each; of those that span half a second the one with the greatest mean pressure."""
    pressure = columns["inlet-pressure"]
    sums = np.concatenate([[0.0], np.cumsum(pressure)])
    last = np.arange(ROWS)
    # At 100 rows a second; times are multiples of 0.01, so that one of 1 s apart may fall to either side: compare them.
    first = np.searchsorted(columns["time"], columns["time"] - 1.0)
    first = np.where(columns["time"] - columns["time"][first] > 1.0, first + 1, first)
    before = np.maximum(first - 1, 0)
    first = np.where((before < first) & (columns["time"] - columns["time"][before] <= 1.0), before, first)
    means = (sums[last + 1] - sums[first]) / (last + 1 - first)
    means[columns["time"] - columns["time"][first] < 0.5] = -np.inf
    best = int(np.argmax(means))
    return np.arange(ROWS), first[best], best


def main():
    columns = log()
    speed, time = columns["engine-speed"], columns["time"]
    _, first, last = peak(columns)
    windows = {
        "2350 to 2450 rpm": (speed >= 2350) & (speed <= 2450),
        "1234 to 5678 s": (time >= 1234) & (time <= 5678),
        "peak-boost": (np.arange(ROWS) >= first) & (np.arange(ROWS) <= last),
    }
    steady = {"intake-air", "outlet-air"}
    lines = ["window,rows,column,count,mean,standard,independent"]
    for window, inside in windows.items():
        for name, values in columns.items():
            if name == "time":
                continue
            values = values[inside]
            values = values[~np.isnan(values)]
            other = geyer(values) if name in steady and len(values) > 10_000 else ""
            lines.append(
                f"{window},{inside.sum()},{name},{len(values)},{values.mean()!r},{blocks(values)!r},{other!r}".replace("np.float64(", "")
                .replace(")", "")
                .replace("''", "")
            )
    out = pathlib.Path(__file__).parents[1] / "data" / "log" / "windows.csv"
    out.write_text("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()

"""Cuts the open pictures in `tests/data/open` out of their originals (see SOURCE.md there).

    pip install numpy==2.4.6 tifffile==2026.3.3
    python tests/reference/open_data_crops.py L1_1.csv lst.tif

Cells of the matrix are kept as text, so that no digit changes.
"""

import csv
import hashlib
import sys
from pathlib import Path

import numpy as np
import tifffile

OUT = Path(__file__).parent.parent / "data" / "open"
SHA256 = {
    "leaf": "9accb6257faab23994c850ca047e8d29be869f19e2168971ff80aa084f237eb0",
    "lst": "8baaf516818ccebc14ad69772fa5e8e3fa2007257cd9f9c36e0357c5f893b94d",
}


def check(path, name):
    assert hashlib.sha256(Path(path).read_bytes()).hexdigest() == SHA256[name], path


def leaf(path):
    check(path, "leaf")
    rows = [line.split(",") for line in Path(path).read_text().splitlines()]
    valid = np.array([[cell != "NaN" for cell in row] for row in rows])
    down, across = np.flatnonzero(valid.any(axis=1)), np.flatnonzero(valid.any(axis=0))
    crop = [row[across[0] : across[-1] + 1] for row in rows[down[0] : down[-1] + 1]]
    (OUT / "leaf.csv").write_text("".join(",".join(row) + "\n" for row in crop))
    numbers = np.array(crop, float)
    assert np.isfinite(numbers).sum() == valid.sum()
    return ["leaf.csv", numbers.shape[0], numbers.shape[1], int(valid.sum()),
            np.nanmin(numbers), np.nanmean(numbers), np.nanmax(numbers)]


def lst(path):
    check(path, "lst")
    crop = tifffile.imread(path)[400:600, 400:600]
    tifffile.imwrite(OUT / "lst-crop.tif", crop, rowsperstrip=1, photometric="minisblack",
                     software=False, metadata=None, compression="zlib", predictor=3)
    assert np.array_equal(tifffile.imread(OUT / "lst-crop.tif"), crop)
    wide = crop.astype(float)
    return ["lst-crop.tif", *crop.shape, crop.size, wide.min(), wide.mean(), wide.max()]


def main(leaf_path, lst_path):
    OUT.mkdir(parents=True, exist_ok=True)
    with open(OUT / "statistics.csv", "w", newline="") as table:
        writer = csv.writer(table, lineterminator="\n")
        writer.writerow(["file", "rows", "columns", "valid", "min", "mean", "max"])
        writer.writerows([leaf(leaf_path), lst(lst_path)])


if __name__ == "__main__":
    main(*sys.argv[1:])

"""Writes what the grey pictures of PngSuite hold, for `tests/pngsuite.rs`.

    pip install numpy==2.4.6 imageio==2.38.1 pillow==13.0.0
    python tests/reference/pngsuite.py

For every grey picture of 8 and 16 bits without transparency channel: its size, bits, and the CRC-32 (as in zlib) of
its numbers by row, the low byte first. Only the numbers that libpng's own counterpart in pillow gives are kept.
"""

import csv
import io
import struct
import tarfile
import zlib
from pathlib import Path

import imageio.v3 as iio
import numpy as np

HERE = Path(__file__).parent.parent / "data" / "pngsuite"


def main():
    rows = []
    with tarfile.open(HERE / "pngsuite.tar.gz") as suite:
        for member in sorted(suite.getmembers(), key=lambda member: member.name):
            name = Path(member.name).name
            if not name.endswith(".png") or name.startswith("x"):
                continue
            data = suite.extractfile(member).read()
            width, height, depth, colour = struct.unpack(">IIBB", data[16:26])
            if colour != 0 or depth < 8:
                continue
            numbers = np.asarray(iio.imread(io.BytesIO(data), extension=".png"))
            numbers = numbers.astype("<u2" if depth == 16 else "u1")
            assert numbers.shape == (height, width), name
            rows.append([name, width, height, depth, zlib.crc32(numbers.tobytes()), int(numbers.sum(dtype=np.int64))])
    with open(HERE / "grey.csv", "w", newline="") as table:
        writer = csv.writer(table, lineterminator="\n")
        writer.writerow(["name", "width", "height", "bits", "crc32", "sum"])
        writer.writerows(rows)


if __name__ == "__main__":
    main()

"""Writes the picture files that the readers of `src/load` are checked against.

    pip install numpy==2.4.6 tifffile==2026.3.3 imagecodecs==2026.3.6 imageio==2.38.1 pillow==13.0.0
    python tests/reference/containers.py

Every TIFF is read back with tifffile before it is kept. All files are joined into `containers.bin`; `containers.csv`
says where each begins, and `numbers.csv` what each must hold.
"""

import csv
import io
from pathlib import Path

import imageio.v3 as iio
import numpy as np
import tifffile
from PIL import Image

OUT = Path(__file__).parent.parent / "data" / "containers"
ROWS, COLUMNS = 6, 18
SPECIAL = {
    "u8": [0, 255, 127, 128],
    "u16": [0, 65535, 32767, 32768, 255, 256],
    "i16": [0, 32767, -32768, -1, 255, 256, -256],
    "u32": [0, 4294967295, 2147483647, 2147483648, 65535, 65536, 16777217],
    "f32": [0.0, 1e-30, -1e30, 273.15, -0.1, 16777216.0],
    "f64": [0.0, 1e-300, -1e300, 273.15, -0.1, 9007199254740993.0],
}
DTYPE = {"u8": "u1", "u16": "u2", "i16": "i2", "u32": "u4", "f32": "f4", "f64": "f8"}
LAYOUTS = {
    "strip": {},
    "strips": {"rowsperstrip": 4},
    "tiles": {"tile": (16, 16)},
}


def picture(kind):
    rng = np.random.default_rng(20240501)
    row, column = np.mgrid[0:ROWS, 0:COLUMNS]
    smooth = 20 + 3 * row + 2.5 * column + rng.random((ROWS, COLUMNS))
    scale = {"u8": 2, "u16": 411, "i16": -173, "u32": 12_345_678}.get(kind, 1)
    numbers = (smooth * scale).astype(DTYPE[kind])
    numbers.flat[5 : 5 + len(SPECIAL[kind])] = np.array(SPECIAL[kind], DTYPE[kind])
    return numbers


def tiff(numbers, **options):
    stream = io.BytesIO()
    options.setdefault("photometric", "minisblack")
    tifffile.imwrite(stream, numbers, software=False, metadata=None, **options)
    data = stream.getvalue()
    assert np.array_equal(tifffile.imread(io.BytesIO(data)), numbers), options
    return data


def all_tiffs(kind):
    numbers = picture(kind)
    predictors = [None, 3] if kind in ("f32", "f64") else [None, 2]
    for order in "<>":
        for layout, options in LAYOUTS.items():
            for compression in (None, "packbits", "lzw", "zlib"):
                for predictor in predictors if compression in ("lzw", "zlib") else [None]:
                    name = f"{kind}-{'le' if order == '<' else 'be'}-{layout}-{compression or 'none'}-{predictor or 1}"
                    yield name, tiff(
                        numbers, byteorder=order, compression=compression, predictor=predictor, **options
                    )


def others():
    for kind in DTYPE:
        numbers = picture(kind)
        # Only the tag differs: tifffile neither inverts on writing nor on reading.
        yield f"{kind}-whiteiszero", kind, tiff(numbers, photometric="miniswhite")
        yield f"{kind}-bigtiff", kind, tiff(numbers, bigtiff=True, byteorder=">", compression="zlib")
    u16 = picture("u16")
    yield "u16-whiteiszero-be", "u16", tiff(u16, photometric="miniswhite", byteorder=">")
    # Horizontal differences of floating-point numbers: only libtiff (inside pillow) writes them, as of whole numbers.
    stream = io.BytesIO()
    f32 = picture("f32")
    Image.fromarray(f32).save(stream, "TIFF", compression="tiff_adobe_deflate", tiffinfo={317: 2})
    stream.seek(0)
    assert tifffile.TiffFile(stream).pages[0].predictor == 2
    assert np.array_equal(np.array(Image.open(stream)), f32)
    yield "f32-le-strip-zlib-2", "f32", stream.getvalue()
    pages = io.BytesIO()
    with tifffile.TiffWriter(pages) as writer:
        for shift in range(3):
            writer.write(u16 + np.uint16(shift), photometric="minisblack", contiguous=False, metadata=None)
    yield "u16-pages-3", "u16", pages.getvalue()
    yield "u16-png", "u16", iio.imwrite("<bytes>", u16, extension=".png")
    yield "u8-png", "u8", iio.imwrite("<bytes>", picture("u8"), extension=".png")


def refused():
    u8, u16 = picture("u8"), picture("u16")
    colours = np.dstack([u8, u8, u8])
    yield "refused-rgb", tiff(colours, photometric="rgb")
    yield "refused-planar", tiff(np.stack([u16, u16]), planarconfig="separate", extrasamples=["unspecified"])
    palette = np.tile(np.arange(256, dtype=np.uint16) * 257, (3, 1))
    yield "refused-palette", tiff(u8, photometric="palette", colormap=palette)
    yield "refused-i32", tiff(u16.astype("i4"))
    yield "refused-f16", tiff((u16 % 100).astype("f2"))
    yield "refused-u64", tiff(u16.astype("u8"))
    yield "refused-zstd", tiff(u16, compression="zstd")
    yield "refused-png-rgb", iio.imwrite("<bytes>", colours, extension=".png")
    alpha = np.dstack([u8, u8])
    yield "refused-png-alpha", iio.imwrite("<bytes>", alpha, extension=".png", mode="LA")


def main():
    OUT.mkdir(parents=True, exist_ok=True)
    files = [(name, kind, data) for kind in DTYPE for name, data in all_tiffs(kind)]
    files += list(others())
    files += [(name, "", data) for name, data in refused()]
    with open(OUT / "containers.csv", "w", newline="") as table, open(OUT / "containers.bin", "wb") as joined:
        writer = csv.writer(table, lineterminator="\n")
        writer.writerow(["name", "numbers", "offset", "length"])
        for name, kind, data in files:
            writer.writerow([name, kind, joined.tell(), len(data)])
            joined.write(data)
    with open(OUT / "numbers.csv", "w", newline="") as table:
        writer = csv.writer(table, lineterminator="\n")
        writer.writerow(["numbers", "row"] + [f"column {c}" for c in range(COLUMNS)])
        for kind in DTYPE:
            for index, row in enumerate(picture(kind)):
                # Shortest digits that give the number back in its own precision.
                writer.writerow([kind, index] + [np.format_float_scientific(n) if kind[0] == "f" else str(n) for n in row])


if __name__ == "__main__":
    main()

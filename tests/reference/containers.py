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
from PIL import Image, TiffImagePlugin

OUT = Path(__file__).parent.parent / "data" / "containers"
ROWS, COLUMNS = 6, 18
SPECIAL = {
    "u8": [0, 255, 127, 128],
    "u16": [0, 65535, 32767, 32768, 255, 256],
    "i16": [0, 32767, -32768, -1, 255, 256, -256],
    "u32": [0, 4294967295, 2147483647, 2147483648, 65535, 65536, 16777217],
    "i32": [0, 2147483647, -2147483648, -1, 65535, -65536, 16777217],
    "f16": [0.0, 1.0, -2.0, 65504.0, 6e-8, 6.1e-5, 0.3333],
    "f32": [0.0, 1e-30, -1e30, 273.15, -0.1, 16777216.0],
    "f64": [0.0, 1e-300, -1e300, 273.15, -0.1, 9007199254740993.0],
}
DTYPE = {"u8": "u1", "u16": "u2", "i16": "i2", "u32": "u4", "i32": "i4", "f32": "f4", "f64": "f8"}
# Types that only NPY holds; read as 32-bit floating-point numbers.
NPY_DTYPE = DTYPE | {"f16": "f2"}
LAYOUTS = {
    "strip": {},
    "strips": {"rowsperstrip": 4},
    "tiles": {"tile": (16, 16)},
}


def picture(kind):
    rng = np.random.default_rng(20240501)
    row, column = np.mgrid[0:ROWS, 0:COLUMNS]
    smooth = 20 + 3 * row + 2.5 * column + rng.random((ROWS, COLUMNS))
    scale = {"u8": 2, "u16": 411, "i16": -173, "u32": 12_345_678, "i32": -9_876_543}.get(kind, 1)
    numbers = (smooth * scale).astype(NPY_DTYPE[kind])
    numbers.flat[5 : 5 + len(SPECIAL[kind])] = np.array(SPECIAL[kind], NPY_DTYPE[kind])
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


def npy(numbers, version=None):
    stream = io.BytesIO()
    np.lib.format.write_array(stream, numbers, version=version)
    stream.seek(0)
    assert np.array_equal(np.load(stream), numbers)
    return stream.getvalue()


def npys():
    for kind, dtype in NPY_DTYPE.items():
        for order in "<>" if kind != "u8" else "|":
            numbers = picture(kind).astype(order + dtype)
            name = f"{kind}-npy-{'be' if order == '>' else 'le'}"
            yield f"{name}-rows", kind, npy(np.ascontiguousarray(numbers))
            yield f"{name}-columns", kind, npy(np.asfortranarray(numbers))
    yield "u16-npy-version-2", "u16", npy(picture("u16"), (2, 0))
    yield "u16-npy-version-3", "u16", npy(picture("u16"), (3, 0))


def pgms():
    stream = io.BytesIO()
    Image.fromarray(picture("u8")).save(stream, "PPM")
    assert stream.getvalue().startswith(b"P5")
    yield "u8-pgm", "u8", stream.getvalue()
    stream = io.BytesIO()
    Image.fromarray(picture("u16")).save(stream, "PPM")
    assert stream.getvalue().startswith(b"P5")
    yield "u16-pgm", "u16", stream.getvalue()
    for kind, largest in (("u8", 255), ("u16", 65535)):
        lines = "\n".join(" ".join(map(str, row)) for row in picture(kind))
        data = f"P2\n# made up\n{COLUMNS} {ROWS}\n{largest}\n{lines}\n".encode()
        assert np.array_equal(np.array(Image.open(io.BytesIO(data))), picture(kind))
        yield f"{kind}-pgm-text", kind, data


def page_files():
    """Pages whose numbers are those of u16 plus 0, 1 and 2, and a reduced copy before the second."""
    u16 = picture("u16")
    for name, options in (("tiff-le", {}), ("tiff-be", {"byteorder": ">"}), ("bigtiff-be", {"byteorder": ">", "bigtiff": True})):
        stream = io.BytesIO()
        with tifffile.TiffWriter(stream, **options) as writer:
            for shift in range(3):
                if shift == 1:
                    writer.write(u16[::2, ::2], photometric="minisblack", subfiletype=1, metadata=None)
                page = u16 + np.uint16(shift)
                kind = "miniswhite" if shift == 2 else "minisblack"
                writer.write(page, photometric=kind, contiguous=False, metadata=None, compression="zlib")
        yield f"pages-{name}", "u16", stream.getvalue()


def notes():
    """Files with a camera's notes: orientation 6 and 2024-05-01 13:45:12.25 +02:00."""
    exif = Image.Exif()
    exif[0x0112] = 6
    directory = exif.get_ifd(0x8769)
    directory[0x9003] = "2024:05:01 13:45:12"
    directory[0x9011] = "+02:00"
    directory[0x9291] = "25"
    u16 = Image.fromarray(picture("u16"))
    stream = io.BytesIO()
    u16.save(stream, "PNG", exif=exif)
    data = stream.getvalue()
    at = data.index(b"eXIf") - 4
    chunk = data[at : at + 12 + int.from_bytes(data[at : at + 4], "big")]
    without = data.replace(chunk, b"")
    end = without.index(b"IEND") - 4
    yield "notes-png-before", "u16", without[:33] + chunk + without[33:]
    yield "notes-png-after", "u16", without[:end] + chunk + without[end:]
    stream = io.BytesIO()
    tags = TiffImagePlugin.ImageFileDirectory_v2()
    tags[0x0112] = 6
    tags[0x8769] = dict(directory)
    u16.save(stream, "TIFF", tiffinfo=tags)
    read = Image.open(io.BytesIO(stream.getvalue())).getexif().get_ifd(0x8769)
    assert read[0x9003] == directory[0x9003] and read[0x9011] == directory[0x9011], read
    yield "notes-tiff", "u16", stream.getvalue()
    stream = io.BytesIO()
    Image.fromarray(picture("u8")).save(stream, "JPEG", exif=exif)
    yield "notes-jpeg", "", stream.getvalue()
    for _, _, data in (("", "", without[:33] + chunk + without[33:]), ("", "", stream.getvalue())):
        read = Image.open(io.BytesIO(data)).getexif()
        assert read[0x0112] == 6 and read.get_ifd(0x8769)[0x9003] == "2024:05:01 13:45:12"


def refused():
    u8, u16 = picture("u8"), picture("u16")
    colours = np.dstack([u8, u8, u8])
    yield "refused-rgb", tiff(colours, photometric="rgb")
    yield "refused-planar", tiff(np.stack([u16, u16]), planarconfig="separate", extrasamples=["unspecified"])
    palette = np.tile(np.arange(256, dtype=np.uint16) * 257, (3, 1))
    yield "refused-palette", tiff(u8, photometric="palette", colormap=palette)
    yield "refused-npy-i64", npy(u16.astype("i8"))
    yield "refused-npy-3d", npy(np.stack([u16]))
    yield "refused-f16", tiff((u16 % 100).astype("f2"))
    yield "refused-u64", tiff(u16.astype("u8"))
    yield "refused-zstd", tiff(u16, compression="zstd")
    yield "refused-png-rgb", iio.imwrite("<bytes>", colours, extension=".png")
    alpha = np.dstack([u8, u8])
    yield "refused-png-alpha", iio.imwrite("<bytes>", alpha, extension=".png", mode="LA")


def main():
    OUT.mkdir(parents=True, exist_ok=True)
    files = [(name, kind, data) for kind in DTYPE for name, data in all_tiffs(kind)]
    files += list(others()) + list(npys()) + list(pgms()) + list(page_files()) + list(notes())
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
        for kind in NPY_DTYPE:
            for index, row in enumerate(picture(kind)):
                # Shortest digits that give the number back in its own precision; 16 bits are read as 32.
                row = row.astype("f4") if kind == "f16" else row
                writer.writerow([kind, index] + [np.format_float_scientific(n) if kind[0] == "f" else str(n) for n in row])


if __name__ == "__main__":
    main()

"""Colour maps to test palette pictures with: writes tests/data/palettes/maps.csv.

A row a map: its name, its kind and 256 colours as RRGGBB, cold to hot. Kinds: `ordered` (each colour stands for one value),
`rainbow` (ordered by hue), `diverging`, `folded` (comes back to its own colours).
Needs matplotlib 3.9.2 (its maps are under its own BSD-compatible licence, some under CC0 or Apache-2.0).
"""

import csv
from pathlib import Path

import matplotlib

MAPS = {
    "ordered": """viridis plasma inferno magma cividis Greys Purples Blues Greens Oranges Reds YlOrBr YlOrRd OrRd PuRd RdPu
        BuPu GnBu PuBu YlGnBu PuBuGn BuGn YlGn binary gist_gray bone pink spring summer autumn winter cool Wistia hot afmhot
        gist_heat copper gnuplot gnuplot2 CMRmap cubehelix""",
    "rainbow": "jet turbo rainbow gist_rainbow nipy_spectral brg terrain gist_earth ocean gist_ncar Spectral",
    "diverging": "coolwarm bwr seismic PiYG PRGn BrBG PuOr RdBu RdGy RdYlBu RdYlGn",
    "folded": "hsv twilight twilight_shifted gist_stern flag",
}

assert matplotlib.__version__ == "3.9.2", matplotlib.__version__
target = Path(__file__).parent.parent / "data" / "palettes" / "maps.csv"
target.parent.mkdir(exist_ok=True)
with target.open("w", newline="") as file:
    rows = csv.writer(file, lineterminator="\n")
    rows.writerow(["map", "kind", "colours"])
    for kind, names in MAPS.items():
        for name in names.split():
            colours = matplotlib.colormaps[name].resampled(256)(range(256), bytes=True)
            rows.writerow([name, kind, "".join(f"{r:02x}{g:02x}{b:02x}" for r, g, b, _ in colours)])

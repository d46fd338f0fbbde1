"""Reference values of heat transfer and gas laws, from the libraries ht and CoolProp and from finite volumes.

    pip install -r tests/reference/requirements-heat.txt
    python tests/reference/heat.py tests/data/heat

ht evaluates published correlations (its documentation names them); CoolProp the reference equation of state of air
(Lemmon and others 2000). The wall's transient is integrated in space by finite volumes and in time exactly, by the
eigenvalues of their matrix: it shares nothing with the series that the program sums.
"""

import csv
import sys
from pathlib import Path

import CoolProp.CoolProp as coolprop
import ht
import numpy as np


def write(path, head, rows):
    with open(path, "w", newline="") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(head)
        out.writerows([f"{cell:.9g}" if isinstance(cell, float) else cell for cell in row] for row in rows)


def exchangers():
    for ntu in (0.1, 0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 10.0):
        for ratio in (0.05, 0.1, 0.25, 0.4, 0.5, 0.6, 0.75, 0.9, 1.0):
            exact = ht.effectiveness_from_NTU(ntu, ratio, subtype="crossflow")
            closed = ht.effectiveness_from_NTU(ntu, ratio, subtype="crossflow approximate")
            yield float(ntu), float(ratio), float(exact), float(closed)


def tubes():
    for reynolds in (3000.0, 5e3, 1e4, 3e4, 1e5, 3e5):
        for prandtl in (0.68, 0.70, 0.72, 1.2):
            friction = (0.790 * np.log(reynolds) - 1.64) ** -2
            yield reynolds, prandtl, float(ht.turbulent_Gnielinski(Re=reynolds, Pr=prandtl, fd=friction))


def plates():
    for prandtl in (0.69, 0.71, 0.72):
        for grashof in (1e3, 1e5, 1e7, 2.63e9, 1e11):
            yield "vertical", float(grashof), prandtl, float(ht.Nu_vertical_plate_Churchill(prandtl, grashof))
        for reynolds in (1e3, 1e4, 1e5, 4e5):
            yield "laminar", float(reynolds), prandtl, float(ht.conv_external.Nu_horizontal_plate_laminar_Baehr(reynolds, prandtl))


def air():
    for kilopascal in (100, 150, 200, 250, 300, 350):
        for kelvin in (290, 310, 330, 350, 370, 390, 420):
            state = ("T", kelvin, "P", kilopascal * 1e3, "Air")
            names = ("D", "C", "V", "L")
            yield (kilopascal, kelvin, *(float(coolprop.PropsSI(name, *state)) for name in names))


WALLS = {  # thickness, conductivity, density x specific heat, inner film, outer film
    "plastic 3 mm": (0.003, 0.30, 1370 * 1500.0, 80.0, 31.0),
    "plastic 4 mm": (0.004, 0.25, 1350 * 1600.0, 150.0, 20.0),
    "aluminium 2 mm": (0.002, 160.0, 2700 * 900.0, 80.0, 26.0),
    "insulated outside": (0.010, 0.10, 1000 * 1000.0, 10.0, 0.0),
}


def transients(cells=1500):
    for name, (thick, k, capacity, inner, outer) in WALLS.items():
        step = thick / cells
        between = k / step
        half = 2 * k / step
        matrix = np.zeros((cells, cells))
        for i in range(cells - 1):
            for a, b in ((i, i + 1), (i + 1, i)):
                matrix[a, a] -= between
                matrix[a, b] += between
        inside = 1 / (1 / inner + 1 / half)
        outside = 1 / (1 / outer + 1 / half) if outer else 0.0
        matrix[-1, -1] -= inside
        matrix[0, 0] -= outside
        matrix /= capacity * step
        values, vectors = np.linalg.eigh(matrix)
        source = np.zeros(cells)
        source[-1] = inside / (capacity * step)
        steady = -np.linalg.solve(matrix, source)
        parts = vectors.T @ steady
        # the skin, from the outermost cell and the flux through its outer half
        skin = lambda cell: cell * half / (half + outer)
        for time in (2.0, 5.0, 15.0, 40.0, 60.0, 120.0, 300.0, 900.0):
            now = steady - vectors @ (parts * np.exp(values * time))
            yield name, thick, k, capacity, inner, outer, time, float(skin(now[0]) / skin(steady[0]))


def main(folder):
    folder.mkdir(parents=True, exist_ok=True)
    write(folder / "exchanger.csv", ["ntu", "capacity_ratio", "exact", "closed_form"], exchangers())
    write(folder / "tube.csv", ["reynolds", "prandtl", "nusselt"], tubes())
    write(folder / "plate.csv", ["kind", "number", "prandtl", "nusselt"], plates())
    head = ["kilopascal", "kelvin", "density", "specific_heat", "viscosity", "conductivity"]
    write(folder / "air.csv", head, air())
    head = ["wall", "thickness", "conductivity", "capacity", "inner_film", "outer_film", "time", "share"]
    write(folder / "transient.csv", head, transients())


if __name__ == "__main__":
    main(Path(sys.argv[1]))

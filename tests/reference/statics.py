"""What scipy and trimesh find of forces and masses.

Usage: statics.py FILE, which holds JSON: any of

    "boards": [{"at": [[x, y], ...], "load": N, "centre": [x, y]}, ...]
        pushes of dowels that push and do not pull under a stiff board, all alike: the least sum of squares
        that balances the load (Castigliano), by scipy.optimize;
    "beam": {"length": mm, "supports": [x, ...], "load": N per mm, "EI": N mm²}
        pushes of the supports of a beam, by finite elements with scipy.linalg;
    "parts": [{"file": an STL file, "density": g/mL}, ...]
        mass in g and centre of mass in mm of them all, by trimesh.

Prints one JSON object with the same keys.
"""

import json
import sys

import numpy as np
import scipy.linalg
import scipy.optimize
import trimesh


def pushes(board):
    at = np.array(board["at"], float)
    load, centre = board["load"], np.array(board["centre"], float)
    balance = np.vstack([np.ones(len(at)), (at - centre).T / np.abs(at - centre).max()])
    wanted = np.array([load, 0.0, 0.0])
    found = scipy.optimize.minimize(
        lambda r: 0.5 * r @ r / load,
        np.full(len(at), load / len(at)),
        jac=lambda r: r / load,
        bounds=[(0, None)] * len(at),
        constraints={"type": "eq", "fun": lambda r: balance @ r - wanted, "jac": lambda r: balance},
        method="SLSQP",
        options={"maxiter": 1000, "ftol": 1e-14},
    )
    if not found.success or np.abs(balance @ found.x - wanted).max() > 1e-6 * load:
        return None
    return found.x.tolist()


def beam(given):
    count = 300
    xs = np.linspace(0, given["length"], count + 1)
    step = given["length"] / count
    stiffness = np.zeros((2 * count + 2,) * 2)
    force = np.zeros(2 * count + 2)
    own = given["EI"] / step**3 * np.array([
        [12, 6 * step, -12, 6 * step],
        [6 * step, 4 * step**2, -6 * step, 2 * step**2],
        [-12, -6 * step, 12, -6 * step],
        [6 * step, 2 * step**2, -6 * step, 4 * step**2],
    ])
    even = given["load"] * step / 2 * np.array([1, step / 6, 1, -step / 6])
    for i in range(count):
        here = slice(2 * i, 2 * i + 4)
        stiffness[here, here] += own
        force[here] += even
    held = [2 * int(np.argmin(np.abs(xs - x))) for x in given["supports"]]
    free = np.setdiff1d(np.arange(2 * count + 2), held)
    moved = np.zeros(2 * count + 2)
    moved[free] = scipy.linalg.solve(stiffness[np.ix_(free, free)], force[free], assume_a="sym")
    return (force[held] - stiffness[held] @ moved).tolist()


def masses(parts):
    mass, first = 0.0, np.zeros(3)
    for part in parts:
        mesh = trimesh.load_mesh(part["file"])
        grams = mesh.volume * part["density"] / 1000
        mass += grams
        first += grams * mesh.center_mass
    return {"mass": mass, "centre": (first / mass).tolist()}


def main(path):
    with open(path, encoding="utf-8") as file:
        given = json.load(file)
    found = {}
    if "boards" in given:
        found["boards"] = [pushes(board) for board in given["boards"]]
    if "beam" in given:
        found["beam"] = beam(given["beam"])
    if "parts" in given:
        found["parts"] = masses(given["parts"])
    print(json.dumps(found))


if __name__ == "__main__":
    main(sys.argv[1])

"""The best stack by a general solver: scipy's milp (HiGHS), told nothing of how ours searches.

Reads instances from a JSON file (a list), writes for each the least cost (null if there is no stack) and the
seconds that building and solving took, as JSON. With --times only the seconds, one a line.

A stack is a path through states (height, what carries the next slab, height of the last board). The slabs on
the path must be cut from bakes; every way to cut a bake is a column of its own (cutting patterns of Gilmore and
Gomory). Lengths are micrometres, costs grams.
"""

import json
import sys
import time

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array


def patterns(level, least, step):
    """Every way to cut a bake that leaves no room for one more slab of the greatest height used last."""
    found = []

    def grow(chosen, left, most):
        if chosen:
            found.append(tuple(chosen))
        for height in range(min(left, most), least - 1, -step):
            grow(chosen + [height], left - height, height)

    grow([], level, level)
    return found


def solve(case):
    step, least, top = case["step"], case["thinnest"], case["top"]
    cell, radii = case["cell"], case["radii"]
    pans = case["pans"]
    below = np.concatenate([[0.0], np.cumsum(np.pi * np.array(radii) ** 2 * cell)]) / 1e9  # mm³
    ends = np.arange(len(below)) * cell

    def volume(low, high):
        return np.interp(high, ends, below) - np.interp(low, ends, below)

    def holds(pan, low, high):
        cells = range(low // cell, min(-(-high // cell), len(radii)))
        widest = max((radii[i] for i in cells), default=-1e9)
        return widest + case["shave"] <= pan["diameter"] / 2 + 1e-9

    def carved_share(low, high, carrier):
        """How far what is carved hangs over a board, or over what is carved of the slab below, by its half width."""
        if carrier is None:
            return 0.0
        first, last = low // cell, min(-(-high // cell), len(radii))
        widest = max(radii[first:last])
        diameter, is_board = carrier
        under = min(max(low - case["filling"] - 20, 0) // cell, first)
        carried = diameter / 2 if is_board else min(radii[under : first + 1])
        return max(0.0, widest - carried) / widest

    states, arcs, queue = {}, [], []

    def state(key):
        if key not in states:
            states[key] = len(states)
            queue.append(key)
        return states[key]

    start = state((0, None, 0))
    while queue:
        z, carrier, foot = key = queue.pop()
        here = states[key]
        for p, pan in enumerate(pans):
            for height in range(least, pan["level"] // step * step + 1, step):
                up = z + height
                if up - foot > case["board_every"]:
                    break
                if not holds(pan, z, up):
                    continue
                over = 0.0 if carrier is None else max(0.0, (pan["diameter"] - carrier[0]) / 2)
                if over / (pan["diameter"] / 2) > max(0.75, case["overhang"]) + 1e-9:
                    continue
                if carved_share(z, up, carrier) > case["overhang"] + 1e-9:
                    continue
                first, last = z // cell, min(-(-up // cell), len(radii))
                carved = carved_share(z, up, carrier) * max(radii[first:last])
                far = int(over > case["overhang_mm"] + 1e-3) + int(carrier is not None and not carrier[1] and carved > case["overhang_mm"] / 2 + 1e-3)
                cost = far * case["weights"]["overhang"]
                if up >= top:
                    arcs.append((here, None, p, height, cost))
                    continue
                after = up + case["filling"]
                if after < top:
                    seam = volume(up, after) / 1000.0 * case["density"] * case["weights"]["offcut"]
                    arcs.append((here, state((after, (pan["diameter"], False), foot)), p, height, cost + seam))
                board = case["boards"].get(str(up))
                after = up + case["board"]
                if board is not None and after < top:
                    seam = volume(up, after) / 1000.0 * case["density"] * case["weights"]["offcut"]
                    paid = cost + seam + case["weights"]["board"]
                    arcs.append((here, state((after, (board, True), after)), p, height, paid))
    if not any(to is None for _, to, *_ in arcs):
        return None
    columns = [[(p, cut) for cut in patterns(pan["level"] // step * step, least, step)] for p, pan in enumerate(pans)]
    columns = [column for group in columns for column in group]
    n_arcs, n_cuts = len(arcs), len(columns)
    total = n_arcs + n_cuts + 1
    prices = [
        case["weights"]["offcut"] * np.pi * (pan["diameter"] / 2) ** 2 * pan["level"] / 1e12 * case["density"]
        + case["weights"]["bake"]
        for pan in pans
    ]
    cost = np.array([arc[4] for arc in arcs] + [prices[p] for p, _ in columns] + [case["weights"]["load"]])
    rows, cols, vals, low, high = [], [], [], [], []

    def add(row, entries, least_value, most_value):
        for column, value in entries:
            rows.append(row)
            cols.append(column)
            vals.append(value)
        low.append(least_value)
        high.append(most_value)

    row = 0
    leaving = {s: [] for s in states.values()}
    entering = {s: [] for s in states.values()}
    for i, (source, to, *_) in enumerate(arcs):
        leaving[source].append(i)
        if to is not None:
            entering[to].append(i)
    for s in states.values():
        wanted = 1 if s == start else 0
        add(row, [(i, 1) for i in leaving[s]] + [(i, -1) for i in entering[s]], wanted, wanted)
        row += 1
    demands = {}
    for i, (_, _, p, height, _) in enumerate(arcs):
        demands.setdefault((p, height), []).append(i)
    for (p, height), users in demands.items():
        cut = [(n_arcs + j, c.count(height)) for j, (q, c) in enumerate(columns) if q == p and height in c]
        add(row, cut + [(i, -1) for i in users], 0, np.inf)
        row += 1
    for p, pan in enumerate(pans):
        bakes = [(n_arcs + j, -1) for j, (q, _) in enumerate(columns) if q == p]
        add(row, bakes + [(total - 1, pan["count"])], 0, np.inf)
        row += 1
    add(row, [(n_arcs + j, -1) for j in range(n_cuts)] + [(total - 1, case["at_once"])], 0, np.inf)
    matrix = coo_array((vals, (rows, cols)), shape=(row + 1, total)).tocsr()
    upper = np.concatenate([np.ones(n_arcs), np.full(n_cuts + 1, 50.0)])
    result = milp(
        cost,
        integrality=np.ones(total),
        bounds=Bounds(np.zeros(total), upper),
        constraints=LinearConstraint(matrix, low, high),
        options={"mip_rel_gap": 0.0},
    )
    return float(result.fun) if result.success else None


def main():
    arguments = [a for a in sys.argv[1:] if not a.startswith("--")]
    answers = []
    for case in json.load(open(arguments[0])):
        begin = time.perf_counter()
        cost = solve(case)
        answers.append({"cost": cost, "seconds": time.perf_counter() - begin})
    if "--times" in sys.argv:
        for answer in answers:
            print(answer["seconds"])
    else:
        print(json.dumps(answers))


if __name__ == "__main__":
    main()

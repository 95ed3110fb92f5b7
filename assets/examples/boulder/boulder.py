#!/usr/bin/env python3
"""Makes boulder.stl, the model of the boulder cake, as a scanner would give it: open underneath and in inches.

    python3 boulder.py

Needs nothing but Python. The same file comes out every time.
"""

import math
import struct
from pathlib import Path

INCH = 25.4


def noise(seed):
    """Numbers from 0 to 1 that look random, the same on every run (constants of Numerical Recipes' generator)."""
    while True:
        seed = (1664525 * seed + 1013904223) % 2**32
        yield seed / 2**32


def icosphere(times):
    """A ball of even triangles: an icosahedron, each triangle cut in four so many times."""
    t = (1 + math.sqrt(5)) / 2
    corners = [(-1, t, 0), (1, t, 0), (-1, -t, 0), (1, -t, 0), (0, -1, t), (0, 1, t), (0, -1, -t), (0, 1, -t),
               (t, 0, -1), (t, 0, 1), (-t, 0, -1), (-t, 0, 1)]
    corners = [unit(c) for c in corners]
    faces = [(0, 11, 5), (0, 5, 1), (0, 1, 7), (0, 7, 10), (0, 10, 11), (1, 5, 9), (5, 11, 4), (11, 10, 2),
             (10, 7, 6), (7, 1, 8), (3, 9, 4), (3, 4, 2), (3, 2, 6), (3, 6, 8), (3, 8, 9), (4, 9, 5), (2, 4, 11),
             (6, 2, 10), (8, 6, 7), (9, 8, 1)]
    for _ in range(times):
        middles = {}

        def middle(a, b):
            key = (min(a, b), max(a, b))
            if key not in middles:
                middles[key] = len(corners)
                corners.append(unit([x + y for x, y in zip(corners[a], corners[b])]))
            return middles[key]

        faces = [part for a, b, c in faces
                 for ab, bc, ca in [(middle(a, b), middle(b, c), middle(c, a))]
                 for part in [(a, ab, ca), (b, bc, ab), (c, ca, bc), (ab, bc, ca)]]
    return corners, faces


def unit(v):
    length = math.sqrt(sum(x * x for x in v))
    return tuple(x / length for x in v)


def dot(a, b):
    return sum(x * y for x, y in zip(a, b))


def boulder():
    random = noise(7)
    direction = lambda: unit([2 * next(random) - 1 for _ in range(3)])
    # Broken faces: planes that cut the ball, each with its distance from the middle.
    planes = [(direction(), 0.7 + 0.26 * next(random)) for _ in range(22)]
    # Waves of rising frequency for what weather does.
    waves = [(direction(), 2.0 * 1.5**i, 6.3 * next(random), 0.022 / 1.5**i) for i in range(5) for _ in range(3)]
    corners, faces = icosphere(4)
    out = []
    for p in corners:
        # The nearest plane in this direction, with the edges between planes worn round.
        reach = sum(math.exp(-34 * d / max(dot(p, n), 1e-3)) for n, d in planes + [(p, 1.0)])
        r = -math.log(reach) / 34
        r *= 1 + sum(height * math.sin(pitch * dot(p, n) + start) for n, pitch, start, height in waves)
        out.append((140 * r * p[0], 116 * r * p[1], 112 * r * p[2] + 60))
    # A scanner sees nothing below: there it is open.
    seen = [f for f in faces if max(out[v][2] for v in f) > 0]
    return [[tuple(x / INCH for x in out[v]) for v in f] for f in seen]


def main():
    triangles = boulder()
    data = b"boulder, inches, z up".ljust(80) + struct.pack("<I", len(triangles))
    for a, b, c in triangles:
        data += struct.pack("<12fH", 0, 0, 0, *a, *b, *c, 0)
    (Path(__file__).parent / "boulder.stl").write_bytes(data)


main()

"""Median seconds that manifold3d takes to carve layers by booleans of solids.

Usage: boolean_times.py FILE. The file holds meshes one after the other, little-endian: two u64 counts, the
vertices as three f64 each, the triangles as three u32 each. Before them stand two u64: how many meshes are
tools and how many are layers; the order is target, tools, layers.

Timed are the solids made of the meshes, the target less its tools, and what every layer keeps and loses.
"""

import statistics
import sys
import time

import numpy as np
from manifold3d import Manifold, Mesh64

ROUNDS = 5


def meshes(path):
    data = open(path, "rb").read()
    tools, layers = np.frombuffer(data, "<u8", 2)
    at, found = 16, []
    while at < len(data):
        vertices, triangles = (int(n) for n in np.frombuffer(data, "<u8", 2, at))
        at += 16
        # A copy, for manifold3d takes no array that it may not write to.
        points = np.frombuffer(data, "<f8", 3 * vertices, at).reshape(-1, 3).copy()
        at += points.nbytes
        corners = np.frombuffer(data, "<u4", 3 * triangles, at).reshape(-1, 3)
        at += corners.nbytes
        found.append(Mesh64(vert_properties=points, tri_verts=corners.astype(np.uint64)))
    assert len(found) == 1 + tools + layers
    return found[0], found[1 : 1 + tools], found[1 + tools :]


def carve(target, tools, layers):
    body = Manifold(target)
    for tool in tools:
        body -= Manifold(tool)
    total = 0.0
    for layer in map(Manifold, layers):
        # Asking for the meshes makes manifold3d do the work that it puts off.
        total += (layer ^ body).to_mesh64().tri_verts.shape[0]
        total += (layer - body).to_mesh64().tri_verts.shape[0]
    return total


def main(path):
    parts = meshes(path)
    assert carve(*parts) > 0
    times = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        carve(*parts)
        times.append(time.perf_counter() - start)
    print(statistics.median(times))


if __name__ == "__main__":
    main(sys.argv[1])

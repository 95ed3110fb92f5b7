"""Seconds that trimesh takes to read an STL file with merged corners, take its volume and cut it at twelve heights:
scan_times.py STL. The median of three."""

import sys
import time

import numpy as np
import trimesh


def work(path):
    mesh = trimesh.load(path, process=True)
    mesh.volume
    low, high = mesh.bounds[:, 2]
    heights = np.linspace(low, high, 14)[1:-1]
    return [trimesh.intersections.mesh_plane(mesh, [0, 0, 1], [0, 0, height]) for height in heights]


times = []
for _ in range(3):
    start = time.perf_counter()
    work(sys.argv[1])
    times.append(time.perf_counter() - start)
print(sorted(times)[1])

"""Median seconds that numpy-stl takes to write, and trimesh to read and merge, one STL file.

Usage: stl_times.py READ.stl WRITE.stl. Prints three numbers, one a line: numpy-stl from shared corners and
triangles to a file, which is the job that we do; numpy-stl from facets that it holds already; trimesh from
a file that the system has cached to merged corners.
"""

import statistics
import sys
import time

import numpy as np
import stl
import trimesh

ROUNDS = 5


def median_seconds(work):
    work()
    times = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def numpy_stl_from_triangles(corners, triangles, path):
    mesh = stl.mesh.Mesh(np.zeros(len(triangles), dtype=stl.mesh.Mesh.dtype))
    mesh.vectors[:] = corners[triangles]
    mesh.save(path, mode=stl.Mode.BINARY)


def main(read, write):
    loaded = trimesh.load_mesh(read)
    corners, triangles = np.array(loaded.vertices), np.array(loaded.faces)
    print(median_seconds(lambda: numpy_stl_from_triangles(corners, triangles, write)))
    mesh = stl.mesh.Mesh.from_file(read)
    print(median_seconds(lambda: mesh.save(write, mode=stl.Mode.BINARY)))
    # Loading merges equal corners by default (process=True).
    print(median_seconds(lambda: trimesh.load_mesh(read)))


if __name__ == "__main__":
    main(*sys.argv[1:])

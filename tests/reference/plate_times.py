"""Median seconds that manifold3d takes to make plates as unions of extruded outlines.

Usage: plate_times.py FILE. The file holds a list of plates, each a list of [height, contours]. A bevel counts
as level here, which spares manifold3d the slope.
"""

import json
import statistics
import sys
import time

from manifold3d import CrossSection, FillRule, Manifold, OpType

ROUNDS = 5


def make(plates):
    triangles = 0
    for plate in plates:
        prisms = [
            Manifold.extrude(CrossSection(contours, FillRule.NonZero), height) for height, contours in plate
        ]
        triangles += Manifold.batch_boolean(prisms, OpType.Add).to_mesh64().tri_verts.shape[0]
    return triangles


def main(path):
    with open(path) as file:
        plates = json.load(file)
    assert make(plates) > 0
    times = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        make(plates)
        times.append(time.perf_counter() - start)
    print(statistics.median(times))


if __name__ == "__main__":
    main(sys.argv[1])

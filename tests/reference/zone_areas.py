"""What trimesh finds of the parts of a covering.

Usage: zone_areas.py FILE, which holds JSON:

    "parts": [an STL file, ...]
        for each whether it is watertight, and its volume, mm3;
    "surface": an STL file, "heights": [z, ...]
        its area between every two of these heights without what faces straight down at the lowest place, mm2.

Prints one JSON object with the same keys.
"""

import json
import sys

import numpy as np
import trimesh
from trimesh import triangles
from trimesh.intersections import slice_faces_plane


def part(file):
    mesh = trimesh.load(file)
    return {"watertight": bool(mesh.is_watertight), "volume": float(mesh.volume)}


def areas(file, heights):
    mesh = trimesh.load(file)
    foot = mesh.bounds[0][2]
    on_foot = np.all(np.abs(mesh.triangles[:, :, 2] - foot) < 1e-4, axis=1)
    mesh.update_faces(~on_foot)
    found = []
    for low, high in zip(heights, heights[1:]):
        vertices, faces = mesh.vertices, mesh.faces
        for normal, height in [([0, 0, 1], low), ([0, 0, -1], high)]:
            vertices, faces, *_ = slice_faces_plane(vertices, faces, normal, [0, 0, height])
        found.append(float(triangles.area(vertices[faces]).sum()))
    return found


given = json.load(open(sys.argv[1]))
print(json.dumps({
    "parts": [part(file) for file in given["parts"]],
    "surface": areas(given["surface"], given["heights"]),
}))

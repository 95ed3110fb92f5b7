"""Signed distances to a closed mesh and its volume by trimesh: depths.py STL POINTS.json → JSON.

trimesh counts inside as positive."""

import json
import sys

import numpy as np
import trimesh

mesh = trimesh.load(sys.argv[1], process=True)
points = np.array(json.load(open(sys.argv[2])))
depths = trimesh.proximity.signed_distance(mesh, points)
print(json.dumps({"depths": depths.tolist(), "volume": mesh.volume, "watertight": bool(mesh.is_watertight)}))

"""What trimesh finds in a solid file that we wrote.

Usage: read_back.py FILE. Prints a JSON object: for each part, by name, whether it is watertight and wound
consistently, its counts, volume, area and bounds, and, where the file has them, its colour and the least
cosine between a normal in the file and the triangle it belongs to.
"""

import json
import sys

import numpy as np
import trimesh


def parts_of(path):
    if path.endswith(".obj"):
        # One mesh for each `o`, corners with their normals as the file pairs them.
        scene = trimesh.load_scene(path, split_objects=True, group_material=False)
        return dict(scene.geometry)
    return {"solid": trimesh.load_mesh(path)}


def least_normal_agreement(mesh):
    """Asked before corners that differ only in their normals are joined."""
    corner_normals = mesh.vertex_normals[mesh.faces]
    return float(np.einsum("fci,fi->fc", corner_normals, mesh.face_normals).min())


def measured(mesh, has_colours):
    found = {}
    if has_colours:
        found["least_normal_agreement"] = least_normal_agreement(mesh)
        found["colour"] = [int(c) for c in mesh.visual.material.diffuse[:3]]
        mesh.merge_vertices(merge_tex=True, merge_norm=True)
    lo, hi = mesh.bounds
    return found | {
        "watertight": bool(mesh.is_watertight),
        "winding_consistent": bool(mesh.is_winding_consistent),
        "triangles": len(mesh.faces),
        "vertices": len(mesh.vertices),
        "volume": float(mesh.volume),
        "area": float(mesh.area),
        "lo": lo.tolist(),
        "hi": hi.tolist(),
    }


def main(path):
    is_obj = path.endswith(".obj")
    print(json.dumps({name: measured(mesh, is_obj) for name, mesh in parts_of(path).items()}))


if __name__ == "__main__":
    main(sys.argv[1])

"""What manifold3d makes of the parts of a model: union.py PARTS.obj UNION.obj

PARTS holds one object for each closed part, UNION what this program makes of them. Prints volume and area of the union
by manifold3d, and of UNION by trimesh whether it is closed and its volume and area, as JSON."""

import json
import sys

import manifold3d
import numpy as np
import trimesh


def parts(path):
    """Each object of the file; their vertices are numbered through."""
    vertices, objects = [], []
    for line in open(path, encoding="utf-8"):
        words = line.split()
        if words[:1] == ["o"]:
            objects.append([])
        elif words[:1] == ["v"]:
            vertices.append([float(word) for word in words[1:4]])
        elif words[:1] == ["f"]:
            objects[-1].append([int(word) - 1 for word in words[1:4]])
    for faces in objects:
        used, numbered = np.unique(np.array(faces), return_inverse=True)
        yield np.array(vertices)[used], numbered.reshape(-1, 3)


def main():
    solids = [
        manifold3d.Manifold(manifold3d.Mesh64(vertices, faces.astype(np.uint64)))
        for vertices, faces in parts(sys.argv[1])
    ]
    assert all(solid.status() == manifold3d.Error.NoError for solid in solids)
    whole = manifold3d.Manifold.batch_boolean(solids, manifold3d.OpType.Add)
    (vertices, faces), = parts(sys.argv[2])
    ours = trimesh.Trimesh(vertices, faces, process=False)
    print(json.dumps({
        "volume": whole.volume(),
        "area": whole.surface_area(),
        "closed": bool(ours.is_watertight and ours.is_winding_consistent),
        "our_volume": ours.volume,
        "our_area": ours.area,
    }))


main()

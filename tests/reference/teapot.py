"""The teapot of models/teapot.obj as a solid, by trimesh and manifold3d: teapot.py OBJ SLICE HEIGHT...

Prints its volume without a slice at its bottom, and the areas of its sections at heights above its lowest point, y
being up, as JSON."""

import json
import sys

import manifold3d
import networkx
import numpy as np
import trimesh


def closed(part):
    """The part with a fan over each of its open rims."""
    edges, counts = np.unique(part.edges_sorted, axis=0, return_counts=True)
    graph = networkx.Graph()
    graph.add_edges_from(edges[counts == 1].tolist())
    vertices, faces = part.vertices.tolist(), part.faces.tolist()
    for rim in networkx.connected_components(graph):
        middle = len(vertices)
        vertices.append(part.vertices[list(rim)].mean(axis=0).tolist())
        faces.extend([a, b, middle] for a, b in graph.subgraph(rim).edges)
    solid = trimesh.Trimesh(vertices, faces, process=False)
    trimesh.repair.fix_normals(solid)
    assert solid.is_watertight and solid.is_winding_consistent
    return solid


def section(solid, height):
    """Area of a level section, which has no holes."""
    loops = solid.section([0, 1, 0], [0, height, 0]).discrete
    def area(x, z):
        return abs((x[:-1] * z[1:] - x[1:] * z[:-1]).sum()) / 2

    return sum(area(loop[:, 0], loop[:, 2]) for loop in loops)


def main():
    mesh = trimesh.load(sys.argv[1], process=True)
    # The rims of bowl and lid lie 0.006 apart.
    mesh.merge_vertices(merge_tex=True, merge_norm=True, digits_vertex=1)
    parts = [closed(part) for part in mesh.split(only_watertight=False)]
    solids = [manifold3d.Manifold(manifold3d.Mesh64(p.vertices, p.faces.astype(np.uint64))) for p in parts]
    whole = manifold3d.Manifold.batch_boolean(solids, manifold3d.OpType.Add)
    out = whole.to_mesh64()
    solid = trimesh.Trimesh(out.vert_properties[:, :3], out.tri_verts, process=True)
    foot = solid.bounds[0][1]
    areas = [section(solid, foot + float(height)) for height in sys.argv[3:]]
    stood = whole.trim_by_plane([0, 1, 0], foot + float(sys.argv[2]))
    print(json.dumps({
        "volume": stood.volume(),
        "areas": areas,
        "parts": len(parts),
        "trimesh": trimesh.__version__,
    }))


main()

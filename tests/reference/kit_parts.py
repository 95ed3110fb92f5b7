"""Printed parts in the hands of programs that are not ours: trimesh and manifold3d.

Usage: kit_parts.py JOB, one of
  parts FOLDER           every STL there: closed, wound alike, bodies, volume, bounds, what manifold3d says
                         of it, and the least and greatest winding number met at points about it
  beds FOLDER            every 3MF there: names, volumes and bounds of what stands on each bed, the unit, and
                         how much of any two solids is the same place
  edge FILE Z Y...       least x of the solid at print height Z, for each y
  opening FILE Z Y       width of the gap of a half ring at print height Z and y
  pieces Z WHOLE PART... below print height Z: volumes of the whole, of what the parts lack of it, of what
                         they have beyond it, and of what two parts share
Prints JSON.
"""

import json
import sys
from pathlib import Path

import manifold3d
import numpy as np
import trimesh


def manifold_of(mesh):
    mesh = manifold3d.Mesh64(
        vert_properties=np.asarray(mesh.vertices, dtype=np.float64),
        tri_verts=np.asarray(mesh.faces, dtype=np.uint64),
    )
    return manifold3d.Manifold(mesh)


def winding_numbers(mesh, points):
    """Solid angles of all triangles over 4 pi (van Oosterom and Strackee 1983): 1 inside, 0 outside a
    surface that does not run through itself."""
    total = np.zeros(len(points))
    for index, point in enumerate(points):
        a, b, c = (mesh.triangles[:, i] - point for i in range(3))
        la, lb, lc = (np.linalg.norm(v, axis=1) for v in (a, b, c))
        numerator = np.einsum("ij,ij->i", a, np.cross(b, c))
        denominator = (
            la * lb * lc
            + np.einsum("ij,ij->i", a, b) * lc
            + np.einsum("ij,ij->i", b, c) * la
            + np.einsum("ij,ij->i", c, a) * lb
        )
        total[index] = np.arctan2(numerator, denominator).sum() * 2 / (4 * np.pi)
    return total


def measured(path):
    mesh = trimesh.load_mesh(path)
    solid = manifold_of(mesh)
    random = np.random.default_rng(4)
    lo, hi = mesh.bounds
    points = random.uniform(lo, hi, (60, 3))
    # Some of them just inside the surface.
    at = random.integers(0, len(mesh.faces), 30)
    points[:30] = mesh.triangles_center[at] - 0.05 * mesh.face_normals[at]
    winding = winding_numbers(mesh, points)
    return {
        "watertight": bool(mesh.is_watertight),
        "winding_consistent": bool(mesh.is_winding_consistent),
        "bodies": int(mesh.body_count),
        "volume": float(mesh.volume),
        "lo": lo.tolist(),
        "hi": hi.tolist(),
        "status": str(solid.status()),
        "manifold_volume": float(solid.volume()),
        "off_whole": float(np.abs(winding - np.round(winding)).max()),
        "least_winding": float(np.round(winding).min()),
        "greatest_winding": float(np.round(winding).max()),
    }


def parts(folder):
    return {path.name: measured(path) for path in sorted(Path(folder).rglob("*.stl"))}


def bed(path):
    scene = trimesh.load_scene(path)
    found, solids = [], []
    for node in sorted(scene.graph.nodes_geometry):
        transform, name = scene.graph[node]
        mesh = scene.geometry[name].copy()
        mesh.apply_transform(transform)
        lo, hi = mesh.bounds
        found.append(
            {"name": name, "volume": float(mesh.volume), "lo": lo.tolist(), "hi": hi.tolist(),
             "watertight": bool(mesh.is_watertight)}
        )
        solids.append(manifold_of(mesh))
    shared = [
        (solids[i] ^ solids[j]).volume() for i in range(len(solids)) for j in range(i)
    ]
    return {"units": scene.units, "parts": found, "shared": float(max(shared, default=0.0))}


def beds(folder):
    return {path.name: bed(path) for path in sorted(Path(folder).rglob("*.3mf"))}


def crossings(path, z, y):
    """The x at which the line at height z and this y enters and leaves the solid."""
    mesh = trimesh.load_mesh(path)
    segments = trimesh.intersections.mesh_plane(mesh, [0, 0, 1], [0, 0, z])[:, :, :2]
    a, b = segments[:, 0], segments[:, 1]
    cross = (a[:, 1] > y) != (b[:, 1] > y)
    a, b = a[cross], b[cross]
    return np.sort(a[:, 0] + (b[:, 0] - a[:, 0]) * (y - a[:, 1]) / (b[:, 1] - a[:, 1]))


def edge(path, z, *heights):
    return [float(crossings(path, float(z), float(y))[0]) for y in heights]


def opening(path, z, y):
    x = crossings(path, float(z), float(y))
    return float(x[2] - x[1]) if len(x) == 4 else f"{len(x)} crossings"


def pieces(z, whole, *parts):
    def below(path):
        return manifold_of(trimesh.load_mesh(path)).trim_by_plane([0, 0, -1], -float(z))

    whole = below(whole)
    parts = [below(part) for part in parts]
    together = manifold3d.Manifold.batch_boolean(parts, manifold3d.OpType.Add)
    shared = [(parts[i] ^ parts[j]).volume() for i in range(len(parts)) for j in range(i)]
    return {
        "whole": whole.volume(),
        "lacking": (whole - together).volume(),
        "beyond": (together - whole).volume(),
        "shared": max(shared, default=0.0),
    }


if __name__ == "__main__":
    jobs = {"parts": parts, "beds": beds, "edge": edge, "opening": opening, "pieces": pieces}
    print(json.dumps(jobs[sys.argv[1]](*sys.argv[2:])))

"""What trimesh and OpenUSD find in mock-ups that we wrote: OBJ, GLB, USDZ.

Usage: client_files.py FILE... Prints a JSON object: for each file, by its ending, its parts by name, each with its ends in
mm (y up), its volume in mm3, and colour (linear for GLB and USDZ) and roughness where the file has them; for USDZ also what
is wrong with it by OpenUSD's own validators.
"""

import json
import struct
import sys
import zipfile

import numpy as np
import trimesh
from pxr import Usd, UsdGeom, UsdShade, UsdValidation


def measured(mesh, **more):
    """Corners are joined by their places alone: the files have one for each normal."""
    mesh.merge_vertices(merge_tex=True, merge_norm=True)
    lo, hi = mesh.bounds
    return {
        "lo": lo.tolist(),
        "hi": hi.tolist(),
        "watertight": bool(mesh.is_watertight),
        "winding_consistent": bool(mesh.is_winding_consistent),
        "volume": float(mesh.volume),
    } | more


def obj(path):
    scene = trimesh.load_scene(path, split_objects=True, group_material=False)
    return {name: measured(mesh) for name, mesh in scene.geometry.items()}


def glb(path):
    scene = trimesh.load_scene(path)
    parts = {}
    for node in scene.graph.nodes_geometry:
        transform, name = scene.graph[node]
        mesh = scene.geometry[name].copy()
        mesh.apply_transform(transform)
        mesh.apply_scale(1000)
        material = mesh.visual.material
        parts[node] = measured(mesh, roughness=float(material.roughnessFactor))
    return parts


def usdz(path):
    stage = Usd.Stage.Open(path)
    to_mm = UsdGeom.GetStageMetersPerUnit(stage) * 1000
    assert UsdGeom.GetStageUpAxis(stage) == UsdGeom.Tokens.y
    parts = {}
    for prim in stage.Traverse():
        if not prim.IsA(UsdGeom.Mesh):
            continue
        shape = UsdGeom.Mesh(prim)
        points = np.array(shape.GetPointsAttr().Get(), dtype=float)
        faces = np.array(shape.GetFaceVertexIndicesAttr().Get()).reshape(-1, 3)
        assert set(shape.GetFaceVertexCountsAttr().Get()) == {3}
        normals = np.array(shape.GetNormalsAttr().Get(), dtype=float)
        assert shape.GetNormalsInterpolation() == "vertex" and len(normals) == len(points)
        # Normals face the way the corners wind.
        sides = np.cross(points[faces[:, 1]] - points[faces[:, 0]], points[faces[:, 2]] - points[faces[:, 0]])
        assert (np.einsum("fi,fci->fc", sides, normals[faces]) >= 0).all(), prim.GetPath()
        extent = np.array(shape.GetExtentAttr().Get())
        assert np.allclose(extent, [points.min(axis=0), points.max(axis=0)], atol=1e-9)
        material = UsdShade.MaterialBindingAPI(prim).ComputeBoundMaterial()[0]
        surface = material.ComputeSurfaceSource()[0]
        assert surface.GetIdAttr().Get() == "UsdPreviewSurface"
        place = np.array(UsdGeom.Xformable(prim).ComputeLocalToWorldTransform(Usd.TimeCode.Default())).T
        mesh = trimesh.Trimesh(points, faces, process=False)
        mesh.apply_transform(place)
        mesh.apply_scale(to_mm)
        parts[prim.GetDisplayName()] = measured(
            mesh,
            colour=list(surface.GetInput("diffuseColor").Get()),
            roughness=surface.GetInput("roughness").Get(),
        )
    return parts


def usdz_faults(path):
    """Every validator that comes with OpenUSD, those of USDZ packages among them, and what the format says of the archive."""
    validators = UsdValidation.ValidationRegistry().GetOrLoadAllValidators()
    found = UsdValidation.ValidationContext(validators).Validate(Usd.Stage.Open(path))
    faults = [f"{error.GetName()}: {error.GetMessage()}" for error in found]
    with zipfile.ZipFile(path) as archive, open(path, "rb") as file:
        for entry in archive.infolist():
            file.seek(entry.header_offset + 26)
            start = entry.header_offset + 30 + sum(struct.unpack("<HH", file.read(4)))
            if start % 64 or entry.compress_type != zipfile.ZIP_STORED or entry.flag_bits & 1:
                faults.append(f"{entry.filename} begins at {start}, packed by {entry.compress_type}")
        if archive.testzip() is not None:
            faults.append("a checksum is wrong")
    return faults


def main(paths):
    found = {}
    for path in paths:
        ending = path.rsplit(".", 1)[1]
        found[ending] = {"parts": {"obj": obj, "glb": glb, "usdz": usdz}[ending](path)}
        if ending == "usdz":
            found[ending]["faults"] = usdz_faults(path)
    print(json.dumps(found))


if __name__ == "__main__":
    main(sys.argv[1:])

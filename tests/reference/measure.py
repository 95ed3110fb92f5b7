"""What manifold3d makes of the cakes in fixtures.json: volume, area and centroid of every part.

Usage: measure.py > expected.json. The Rust tests read expected.json, so that they need no Python; with the
environment at hand they run this again and compare afresh.

Meshes follow the crate's stated rule, worked out here on its own: a circle gets the fewest equal chords
that keep their sagitta within the chord error, at least twelve and a multiple of four, so that it meets
both axes in corners.
"""

import json
import math
import pathlib
import sys
from importlib.metadata import version

import numpy as np
import trimesh
from manifold3d import CrossSection, Manifold, OpType

HERE = pathlib.Path(__file__).parent


def segments(radius, chord):
    exact = max(12, math.ceil(math.pi / math.acos(1 - chord / max(radius, chord)) - 1e-9))
    return -(-exact // 4) * 4


def disc(radius, around):
    angles = 2 * np.pi * np.arange(around) / around
    return CrossSection([np.stack([radius * np.cos(angles), radius * np.sin(angles)], axis=1)])


def section_of(profile):
    """Closes a half outline along the axis, as a cake file does."""
    points = [tuple(p) for p in profile]
    if points[0] == points[-1]:
        return CrossSection([points[:-1]])
    return CrossSection([points + [(0, points[-1][1]), (0, points[0][1])]])


def slab_solid(layer, bottom, around):
    if "round" in layer:
        outline = disc(layer["round"] / 2, around)
    elif "pieces" in layer:
        laid = [CrossSection.square(p["size"], center=True).rotate(p["turn"]).translate(p["at"]) for p in layer["pieces"]]
        outline = CrossSection.batch_boolean(laid, OpType.Add)
    else:
        outline = CrossSection.square((layer["square"], layer["square"]), center=True)
    outline = outline.rotate(layer.get("turn", 0)).translate(layer.get("offset", [0, 0]))
    return Manifold.extrude(outline, layer["height"]).translate((0, 0, bottom))


def reach_of(layer):
    """How far a layer reaches from its own middle."""
    if "pieces" not in layer:
        return layer.get("round", layer.get("square", 0) * math.sqrt(2)) / 2
    turns = [math.radians(p["turn"]) for p in layer["pieces"]]
    return max(
        math.hypot(
            p["at"][0] + (sx * w * math.cos(turn) - sy * d * math.sin(turn)) / 2,
            p["at"][1] + (sx * w * math.sin(turn) + sy * d * math.cos(turn)) / 2,
        )
        for p, turn in zip(layer["pieces"], turns)
        for w, d in [p["size"]]
        for sx in (-1, 1)
        for sy in (-1, 1)
    )


def after(target, detail):
    if "box" in detail:
        box = detail["box"]
        tool = Manifold.cube(box["size"], center=True).rotate((0, 0, box["turn"])).translate(box["centre"])
        return target - tool
    plane = detail["half_space"]
    normal = -np.array(plane["normal"], dtype=float)
    normal /= np.linalg.norm(normal)
    return target.trim_by_plane(normal, float(normal @ np.array(plane["point"], dtype=float)))


# Less than this is what faces that ought to coincide leave between them, mm³.
NOTHING = 1e-3


def measured(solid):
    if solid.volume() < NOTHING:
        return {"volume": 0.0, "area": 0.0, "centroid": [0.0, 0.0, 0.0], "watertight": True}
    mesh = solid.to_mesh64()
    read = trimesh.Trimesh(np.asarray(mesh.vert_properties)[:, :3], np.asarray(mesh.tri_verts), process=False)
    return {
        "volume": solid.volume(),
        "area": solid.surface_area(),
        "centroid": read.center_mass.tolist(),
        "watertight": bool(read.is_watertight),
    }


def cake(fixture):
    chord = fixture["chord"]
    section = section_of(fixture["profile"])
    reach = max(
        max(reach_of(layer) for layer in fixture["layers"]),
        max(r for r, _ in fixture["profile"]),
    )
    target = Manifold.revolve(section, segments(reach, chord))
    for detail in fixture["details"]:
        target = after(target, detail)
    layers, bottom = [], 0
    for layer in fixture["layers"]:
        # On the axis everything has the same meridians.
        on_axis = "round" in layer and "offset" not in layer
        around = segments(reach if on_axis else layer.get("round", 0) / 2, chord)
        slab = slab_solid(layer, bottom, around)
        top = bottom + layer["height"]
        piece = target.trim_by_plane((0, 0, 1), bottom).trim_by_plane((0, 0, -1), -top)
        # Where faces of the two coincide manifold3d leaves sheets without volume: let the slab stand proud.
        proud = slab_solid({**layer, "height": layer["height"] + 2}, bottom - 1, around)
        layers.append(
            {
                "raw": measured(slab),
                "kept": measured(proud ^ piece),
                "offcut": measured(slab - piece),
                "shortfall": measured(piece - proud),
            }
        )
        bottom = top
    return {"name": fixture["name"], "carved": measured(target), "layers": layers}


# How finely tools and the ball that is added to them are made: rounds lose less than half a per cent.
TOOL, BALL = 64, 48


def grown(fixture):
    """The tool with a ball added to every point of it."""
    ball = Manifold.sphere(fixture["by"], BALL)
    if "ball" in fixture:
        tool = Manifold.sphere(fixture["ball"]["radius"], TOOL)
    elif "box" in fixture:
        tool = Manifold.cube(fixture["box"]["size"], center=True)
    elif "cylinder" in fixture:
        tool = Manifold.cylinder(fixture["cylinder"]["length"], fixture["cylinder"]["radius"], -1, TOOL)
    elif "bar" in fixture:
        end = Manifold.sphere(fixture["bar"]["radius"], TOOL)
        tool = Manifold.batch_hull([end, end.translate((0, 0, fixture["bar"]["length"]))])
    else:
        ring = fixture["ring"]
        tool = Manifold.revolve(CrossSection.circle(ring["bar"], BALL).translate((ring["radius"], 0)), TOOL)
        # The sum of a solid that is not convex is joined from many pieces: a coarser ball will do.
        ball = Manifold.sphere(fixture["by"], BALL // 2)
    return {"name": fixture["name"], "volume": tool.minkowski_sum(ball).volume()}


def main():
    fixtures = json.loads((HERE / "fixtures.json").read_text())
    versions = {package: version(package) for package in ("manifold3d", "trimesh", "numpy")}
    json.dump(
        {
            "made_by": versions,
            "cakes": [cake(fixture) for fixture in fixtures["cakes"]],
            "grown": [grown(fixture) for fixture in fixtures["grown"]],
        },
        sys.stdout,
        indent=1,
    )
    print()


if __name__ == "__main__":
    main()

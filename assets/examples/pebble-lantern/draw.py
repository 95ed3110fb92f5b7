#!/usr/bin/env python3
"""Draws the picture that the pebble lantern is traced from: pebbles stacked to a lantern, as one would
photograph a brush drawing. Needs nothing but Python.

    python3 draw.py            # writes template.png beside this script

The drawing is a little off on purpose, as drawings are: it hangs askew by 1.5 degrees, its left half is a
touch fuller than the right one, the paper is not evenly lit, and the brush has left spots.
"""

import math
import struct
import sys
import zlib
from pathlib import Path

WIDTH, HEIGHT = 900, 1200
AXIS, FOOT = 452.0, 1090.0  # where the axis meets the ground, pixels
TILT = math.radians(1.5)

# From the foot up: height of the middle, half width, half height, how square (2 is an ellipse).
PEBBLES = [
    (80.0, 300.0, 130.0, 2.6),  # the base stone, its underside worn flat
    (270.0, 200.0, 110.0, 2.2),
    (465.0, 265.0, 140.0, 2.5),  # the lamp
    (665.0, 320.0, 100.0, 2.3),  # the roof stone
    (815.0, 185.0, 95.0, 2.2),
    (940.0, 105.0, 80.0, 2.0),  # the cap
]
SPOTS = [(90, 140, 3.0), (800, 210, 4.0), (760, 985, 2.5), (120, 790, 3.5), (650, 60, 2.0)]
JOINT = 16.0  # how far the brush has filled the joints


def stone(x: float, y: float, pebble: tuple) -> float:
    """How far a point lies inside a stone, pixels; nearly so away from its edge."""
    middle, wide, tall, square = pebble
    across, up = abs(x) / wide, abs(y - middle) / tall
    size = (across**square + up**square) ** (1 / square)
    if size == 0:
        return min(wide, tall)
    # Over the slope of `size`, so that it counts pixels at the edge.
    slope = math.hypot((across / size) ** (square - 1) / wide, (up / size) ** (square - 1) / tall)
    return (1 - size) / slope


def lantern(x: float, y: float) -> float:
    """How far a point lies inside the stones, the joints between them filled a little."""
    x /= 1.03 if x < 0 else 1.0  # the left half is fuller
    total = 0.0
    for inside in sorted((stone(x, y, pebble) for pebble in PEBBLES), reverse=True)[:2]:
        total += math.exp(min(inside / JOINT, 60.0))
    return JOINT * math.log(total)


def darkness(right: float, down: float) -> float:
    """How far a point lies inside the drawing, pixels; below zero outside."""
    x, y = right - AXIS, FOOT - down
    # Turned back upright.
    x, y = x * math.cos(TILT) + y * math.sin(TILT), y * math.cos(TILT) - x * math.sin(TILT)
    inside = -1e9
    if y > -2:
        inside = min(lantern(x, y), y)
    for spot_right, spot_down, radius in SPOTS:
        inside = max(inside, radius - math.hypot(right - spot_right, down - spot_down))
    return inside


def grey(right: int, down: int) -> int:
    """Grey ink on paper that is lit from the upper left."""
    paper = 236 - 26 * (right / WIDTH) - 20 * (down / HEIGHT)
    ink = 52 + 10 * math.sin(right / 37) * math.sin(down / 53)
    grain = ((right * 7919 + down * 104729) * 2654435761 >> 13) % 9 - 4
    share = min(max(darkness(right + 0.5, down + 0.5) + 0.5, 0.0), 1.0)
    return round(min(max(paper + (ink - paper) * share + grain, 0), 255))


def png(rows: list) -> bytes:
    """A grey picture as PNG (W3C PNG specification)."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    header = struct.pack(">IIBBBBB", WIDTH, HEIGHT, 8, 0, 0, 0, 0)
    data = zlib.compress(b"".join(b"\0" + bytes(row) for row in rows), 9)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", data) + chunk(b"IEND", b"")


if __name__ == "__main__":
    target = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).with_name("template.png")
    target.write_bytes(png([[grey(x, y) for x in range(WIDTH)] for y in range(HEIGHT)]))
    print(target)

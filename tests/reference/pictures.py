"""Pictures and drawings measured by libraries that are not ours: scikit-image, Pillow, svgpathtools.

    pictures.py horse FOLDER     writes horse.png (black and white, as the library ships it) and measures it
    pictures.py kinds FOLDER     writes one picture in every kind of file, and in all eight EXIF orientations
    pictures.py drawing FILE     area and box of every path of an SVG drawing, by id
"""

import json
import sys
from pathlib import Path

import numpy
from PIL import Image


def horse(folder):
    from skimage import data, measure

    dark = ~data.horse()
    Image.fromarray((~dark * 255).astype(numpy.uint8)).save(Path(folder) / "horse.png")
    [properties] = measure.regionprops(measure.label(dark, connectivity=2))
    contours = measure.find_contours(numpy.pad(dark, 1).astype(float), 0.5)
    shoelace = lambda c: 0.5 * abs(numpy.sum(c[:-1, 0] * c[1:, 1] - c[1:, 0] * c[:-1, 1]))
    return {
        "pixels": int(dark.sum()),
        "filled": int(properties.area_filled),
        "perimeter": properties.perimeter,
        "edge": float(sum(s * shoelace(c) for s, c in zip((1, -1), sorted(contours, key=len, reverse=True)))),
        # Middles of pixels lie at halves here.
        "row": properties.centroid[0] + 0.5,
        "column": properties.centroid[1] + 0.5,
    }


def flag():
    """A lopsided L with a hole, dark on light: no two of its turned and mirrored views are alike."""
    rows = numpy.full((120, 90), 230, numpy.uint8)
    rows[20:100, 15:45] = 40
    rows[70:100, 45:75] = 40
    rows[30:45, 22:34] = 230
    return Image.fromarray(rows)


# What has to be done to the picture as shown to get the rows as stored, for each EXIF orientation
# (CIPA DC-008, tag 274).
STORED = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_90,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_270,
}


def kinds(folder):
    folder = Path(folder)
    grey = flag()
    written = {}

    def save(name, image, **options):
        image.save(folder / name, **options)
        written[name] = list(image.size)

    save("grey.png", grey)
    save("deep.png", Image.fromarray(numpy.asarray(grey).astype(numpy.uint16) * 20))
    save("colour.png", grey.convert("RGB"))
    save("palette.png", grey.convert("P"))
    save("bilevel.png", grey.point(lambda v: 255 * (v > 128)).convert("1"))
    save("interlaced.gif", grey.convert("P"))
    save("grey.jpg", grey, quality=95)
    save("colour.jpg", grey.convert("RGB"), quality=95)
    save("progressive.jpg", grey.convert("RGB"), quality=95, progressive=True)
    save("cmyk.jpg", grey.convert("CMYK"), quality=95)
    clear = Image.new("RGBA", grey.size, (255, 255, 255, 0))
    clear.paste((90, 160, 60, 255), mask=grey.point(lambda v: 255 * (v < 128)))
    save("transparent.png", clear)
    # As bright as its ground, another colour.
    alike = Image.new("RGB", grey.size, (120, 120, 120))
    alike.paste((120, 138, 0), mask=grey.point(lambda v: 255 * (v < 128)))
    save("alike.png", alike)
    for orientation in range(1, 9):
        stored = grey.transpose(STORED[orientation]) if orientation > 1 else grey
        exif = Image.Exif()
        exif[274] = orientation
        save(f"exif-{orientation}.jpg", stored, quality=95, exif=exif)
        save(f"exif-{orientation}.png", stored, exif=exif)
    return written


def drawing(file):
    from svgpathtools import Document

    # The library's own area of arcs takes minutes; chords from its points are as good.
    def area(ring):
        points = numpy.array([piece.point(i / 500) for piece in ring for i in range(500)])
        following = numpy.roll(points, -1)
        return 0.5 * abs(numpy.sum(points.real * following.imag - following.real * points.imag))

    found = {}
    for path in Document(file).paths():
        left, right, top, bottom = path.bbox()
        areas = sum(area(ring) for ring in path.continuous_subpaths())
        found[path.element.get("id")] = {"area": areas, "box": [left, top, right, bottom]}
    return found


if __name__ == "__main__":
    what, argument = sys.argv[1:]
    print(json.dumps({"horse": horse, "kinds": kinds, "drawing": drawing}[what](argument)))

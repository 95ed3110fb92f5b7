"""How far apart colours are, for eyes that see all of them and for those that do not.

Usage: colours.py HEX ... Prints JSON: for each kind of sight the least CIEDE2000 distance of two colours (ISO/CIE 11664-6)
and which two; and the contrast of each colour to the one before it (relative luminance of IEC 61966-2-1, WCAG 2.2).
Colour vision deficiency by Machado, Oliveira and Fernandes, "A Physiologically-based Model for Simulation of Color
Vision Deficiency", 2009. All of it is the package colour-science.
"""

import itertools
import json
import sys
import warnings

warnings.filterwarnings("ignore")

import colour  # noqa: E402
import numpy  # noqa: E402

given = sys.argv[1:]
encoded = numpy.array([[int(text[i : i + 2], 16) / 255 for i in (0, 2, 4)] for text in given])
linear = colour.models.eotf_sRGB(encoded)


def lab(light):
    return colour.XYZ_to_Lab(colour.RGB_to_XYZ(numpy.clip(light, 0, 1), "sRGB"))


def nearest(light):
    seen = lab(light)
    pairs = itertools.combinations(range(len(given)), 2)
    apart = [(float(colour.delta_E(seen[a], seen[b], method="CIE 2000")), given[a], given[b]) for a, b in pairs]
    return min(apart)


sights = {"all colours": nearest(linear)}
for kind in ("Protanomaly", "Deuteranomaly", "Tritanomaly"):
    matrix = colour.blindness.matrix_cvd_Machado2009(kind, 1.0)
    sights[kind] = nearest(colour.algebra.vecmul(matrix, linear))
luminance = [float(colour.RGB_to_XYZ(light, "sRGB")[1]) for light in linear]
contrast = [
    (max(pair) + 0.05) / (min(pair) + 0.05) for pair in zip(luminance, luminance[1:])
]
print(json.dumps({"sights": sights, "contrast": contrast}))

"""What fontTools finds of words set in a font.

Usage: letters.py FONT WORDS...

Prints a JSON list, for each of the words the area inside its letters ("area") and the box round them ("box": left, lower,
right and upper edge, the base line at 0), in units of which an H is 1 high. Letters stand by their advance widths and
the font's kerning of pairs (its `kern` table).
"""

import json
import sys

from fontTools.pens.areaPen import AreaPen
from fontTools.pens.boundsPen import BoundsPen
from fontTools.pens.transformPen import TransformPen
from fontTools.ttLib import TTFont

font = TTFont(sys.argv[1])
glyphs, names, widths = font.getGlyphSet(), font.getBestCmap(), font["hmtx"].metrics
kerning = {}
if "kern" in font:
    for table in font["kern"].kernTables:
        kerning.update(table.kernTable)
upright = BoundsPen(glyphs)
glyphs["H"].draw(upright)
capital = upright.bounds[3]


def measured(words):
    area, box, at, before = AreaPen(glyphs), BoundsPen(glyphs), 0, None
    for letter in words:
        name = names[ord(letter)]
        at += kerning.get((before, name), 0)
        for pen in (area, box):
            glyphs[name].draw(TransformPen(pen, (1, 0, 0, 1, at, 0)))
        at, before = at + widths[name][0], name
    # Outer contours of TrueType run clockwise, which the pen counts as below 0.
    return {"area": abs(area.value) / capital**2, "box": [edge / capital for edge in box.bounds]}


print(json.dumps([measured(words) for words in sys.argv[2:]]))

"""Homographies by scikit-image's ProjectiveTransform.

    homography.py FILE     a JSON of sets of points, from and to, and of probes: where the probes go by each set
"""

import json
import sys

import numpy
from skimage.transform import ProjectiveTransform

with open(sys.argv[1], encoding="utf-8") as file:
    job = json.load(file)
found = []
for points in job["sets"]:
    transform = ProjectiveTransform.from_estimate(numpy.array(points["from"]), numpy.array(points["to"]))
    found.append(transform(numpy.array(job["probes"])).tolist())
print(json.dumps(found))

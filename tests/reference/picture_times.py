"""Seconds, one a line, that scikit-image takes to decode a picture, find Otsu's threshold, label the dark regions and
keep the largest, and find its edge between pixels: picture_times.py FILE."""

import sys
import time

import numpy
from skimage import filters, io, measure


def timed(work):
    start = time.perf_counter()
    result = work()
    print(time.perf_counter() - start)
    return result


def largest(image, threshold):
    labels = measure.label(image < threshold)
    return labels == 1 + numpy.argmax(numpy.bincount(labels.ravel())[1:])


file = sys.argv[1]
image = timed(lambda: io.imread(file, as_gray=True))
threshold = timed(lambda: filters.threshold_otsu(image))
mask = timed(lambda: largest(image, threshold))
# Dark spots elsewhere are painted over; the edge stays where it is between pixels.
contours = timed(lambda: measure.find_contours(numpy.where(mask, image, numpy.maximum(image, threshold)), threshold))

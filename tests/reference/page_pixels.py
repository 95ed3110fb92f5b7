"""Draws a client's page in Chromium from one side, and prints the colours at places of the cake as JSON.

page_pixels.py CHROMIUM PAGE.html VIEW PLACES

VIEW is [bearing, elevation] in degrees, PLACES are [x, y, z] in mm, y up, as JSON. Each colour is the mean of 5 by 5 pixels.
"""

import json
import pathlib
import sys

from browser import Browser

DRAWN = """(async () => {
    const [[bearing, elevation], places] = %s;
    const packed = Uint8Array.from(atob(byId("meshes").textContent), (c) => c.charCodeAt(0));
    const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("gzip"));
    const bytes = new Uint8Array(await new Response(stream).arrayBuffer());
    const canvas = byId("cake").cloneNode();
    canvas.removeAttribute("id");
    document.body.replaceChildren(canvas);
    canvas.style.cssText = "display: block; width: 1000px; height: 750px; opacity: 1";
    const viewer = new Viewer(canvas, model, unpacked(model, bytes), shaders);
    Object.assign(viewer.view, { bearing, elevation });
    viewer.drawNow();
    const { matrix } = viewer.camera(canvas.width / canvas.height);
    const copy = document.createElement("canvas");
    [copy.width, copy.height] = [canvas.width, canvas.height];
    const plane = copy.getContext("2d");
    plane.drawImage(canvas, 0, 0);
    return places.map(([x, y, z]) => {
        const clip = [0, 1, 2, 3].map((row) => matrix[row] * x + matrix[4 + row] * y + matrix[8 + row] * z + matrix[12 + row]);
        const right = Math.round((clip[0] / clip[3] + 1) / 2 * copy.width - 2.5);
        const down = Math.round((1 - clip[1] / clip[3]) / 2 * copy.height - 2.5);
        const data = plane.getImageData(right, down, 5, 5).data;
        return [0, 1, 2, 3].map((k) => Array.from({ length: 25 }, (_, i) => data[4 * i + k]).reduce((a, b) => a + b) / 25);
    });
})()"""


def main():
    program, page, view, places = sys.argv[1:]
    browser = Browser(program, 1100, 900)
    browser.open(pathlib.Path(page).absolute().as_uri())
    browser.until("document.getElementById('seen').matches('.ready, .failed')")
    # Once the page is replaced its shaders are gone.
    browser.evaluate("globalThis.shaders = read('shaders')")
    print(json.dumps(browser.evaluate(DRAWN % json.dumps([json.loads(view), json.loads(places)]))))
    browser.close()


main()

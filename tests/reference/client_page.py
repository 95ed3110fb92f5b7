"""Opens a client's page in Chromium as a client would, and prints what came of it as JSON.

client_page.py CHROMIUM PAGE.html REMARKS FOLDER

In the folder it leaves pictures of what was seen. axe-core is asked as well, where it lies beside this script:
npm install --no-save --no-package-lock --prefix tests/reference axe-core@4.10.3
"""

import base64
import json
import pathlib
import re
import sys
import time

from browser import Browser

PIXELS = """(() => {
    const copy = document.createElement('canvas');
    [copy.width, copy.height] = [120, 90];
    const plane = copy.getContext('2d');
    plane.drawImage(document.getElementById('cake'), 0, 0, 120, 90);
    return Array.from(plane.getImageData(0, 0, 120, 90).data);
})()"""
AXE = pathlib.Path(__file__).parent / "node_modules/axe-core/axe.min.js"


def opened(program, page, wide, high, **wants):
    browser = Browser(program, wide, high, **wants)
    start = time.monotonic()
    browser.open(pathlib.Path(page).absolute().as_uri())
    if wants.get("scripts", True):
        browser.until("document.getElementById('seen').matches('.ready, .failed')")
    browser.ready_ms = 1000 * (time.monotonic() - start)
    return browser


def seen(browser):
    """The cake as it is now."""
    browser.evaluate("new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
    return browser.evaluate(PIXELS)


def changed(before, after):
    """Share of the pixels that are another colour."""
    pixels = range(0, len(before), 4)
    other = sum(max(abs(before[i + k] - after[i + k]) for k in range(4)) > 12 for i in pixels)
    return other / len(pixels)


def centre(browser, selector):
    box = browser.evaluate(f"(({{x, y, width, height}}) => [x + width / 2, y + height / 2])"
                           f"(document.querySelector({json.dumps(selector)}).getBoundingClientRect())")
    return box[0], box[1]


def pressed(browser, selector):
    browser.evaluate(f"document.querySelector({json.dumps(selector)}).scrollIntoView({{block: 'center', behavior: 'instant'}})")
    x, y = centre(browser, selector)
    browser.mouse("mousePressed", x, y, button="left", clickCount=1)
    browser.mouse("mouseReleased", x, y, button="left", clickCount=1)


def violations(browser):
    if not AXE.exists():
        return None
    browser.evaluate(AXE.read_text(encoding="utf-8"))
    found = browser.evaluate("axe.run().then((result) => result.violations.map((v) => "
                             "[v.id, v.impact, v.nodes.map((node) => node.html)]))")
    return found


def on_a_computer(program, page, remarks, folder):
    browser = opened(program, page, 1280, 800)
    told = {"ready_ms": browser.ready_ms, "failed": browser.evaluate("document.getElementById('seen').matches('.failed')")}
    (folder / "computer.png").write_bytes(browser.picture())
    (folder / "computer-whole.png").write_bytes(browser.picture(whole=True))
    before = seen(browser)
    told["drawn"] = sum(before[i] > 0 for i in range(3, len(before), 4)) / (len(before) // 4)
    x, y = centre(browser, "#cake")
    browser.drag(x, y, 160, 0)
    turned = seen(browser)
    told["turned"] = changed(before, turned)
    browser.evaluate("document.getElementById('cake').focus()")
    browser.key("ArrowLeft")
    told["turned_by_key"] = changed(turned, seen(browser))
    browser.key("Home")
    told["home_is_the_first_look"] = changed(before, seen(browser))
    browser.key("+")
    told["nearer"] = changed(before, seen(browser))
    browser.key("Home")
    stages = []
    last = int(browser.evaluate("document.getElementById('making').max"))
    for stage in range(last + 1):
        browser.evaluate(f"(() => {{ const slider = document.getElementById('making'); slider.value = {stage};"
                         "slider.dispatchEvent(new Event('input')); })()")
        stages.append((browser.evaluate("document.getElementById('stage').textContent"), seen(browser)))
        (folder / f"stage-{stage}.png").write_bytes(browser.picture())
    told["stages"] = [name for name, _ in stages]
    told["between_stages"] = [changed(a[1], b[1]) for a, b in zip(stages, stages[1:])]
    pressed(browser, "label[for=colour0-1]")
    told["recoloured"] = changed(stages[-1][1], seen(browser))
    pressed(browser, "label[for=serves-1]")
    browser.evaluate(f"document.getElementById('remarks').value = {json.dumps(remarks)}")
    pressed(browser, ".yes")
    told["letter"] = browser.evaluate("document.getElementById('text').value")
    told["mail"] = browser.evaluate("document.getElementById('mail').href")
    told["answer_is_seen"] = browser.evaluate("document.getElementById('answer').checkVisibility()")
    (folder / "answer.png").write_bytes(browser.picture())
    told["violations"] = violations(browser)
    told["ends_in_width"] = browser.evaluate("document.documentElement.scrollWidth <= innerWidth")
    paper = base64.b64decode(browser.command("Page.printToPDF", preferCSSPageSize=True, paperWidth=8.27, paperHeight=11.69,
                                             printBackground=False)["data"])
    (folder / "printed.pdf").write_bytes(paper)
    told["printed_pages"] = len(re.findall(rb"/Type\s*/Page\b", paper))
    return finished(browser, told)


def on_a_phone(program, page, dark, folder):
    browser = opened(program, page, 390, 844, touch=True, dark=dark)
    name = "phone-dark" if dark else "phone"
    (folder / f"{name}.png").write_bytes(browser.picture())
    (folder / f"{name}-whole.png").write_bytes(browser.picture(whole=True))
    before = seen(browser)
    x, y = centre(browser, "#cake")
    browser.touch("touchStart", (x, y))
    for step in range(1, 6):
        browser.touch("touchMove", (x + 20 * step, y))
    browser.touch("touchEnd")
    turned = seen(browser)
    browser.touch("touchStart", (x - 30, y), (x + 30, y))
    for step in range(1, 6):
        browser.touch("touchMove", (x - 30 - 12 * step, y), (x + 30 + 12 * step, y))
    browser.touch("touchEnd")
    told = {
        "turned": changed(before, turned),
        "nearer": changed(turned, seen(browser)),
        "ends_in_width": browser.evaluate("document.documentElement.scrollWidth <= innerWidth"),
        "violations": violations(browser),
    }
    return finished(browser, told)


def without_scripts(program, page, folder):
    browser = opened(program, page, 1280, 800, scripts=False)
    (folder / "plain.png").write_bytes(browser.picture())
    (folder / "plain-whole.png").write_bytes(browser.picture(whole=True))
    # What is read is asked of the accessibility tree, which needs no script.
    nodes = browser.command("Accessibility.getFullAXTree")["nodes"]
    told = {"read": [node["name"]["value"] for node in nodes if not node["ignored"] and node.get("name", {}).get("value")]}
    return finished(browser, told)


def finished(browser, told):
    told |= {"console": browser.console, "faults": browser.faults, "requests": browser.requests}
    browser.close()
    return told


def main():
    program, page, remarks, folder = sys.argv[1:]
    folder = pathlib.Path(folder)
    print(json.dumps({
        "computer": on_a_computer(program, page, remarks, folder),
        "phone": on_a_phone(program, page, False, folder),
        "phone_dark": on_a_phone(program, page, True, folder),
        "plain": without_scripts(program, page, folder),
    }))


main()

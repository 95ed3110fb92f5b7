"""Parses pages as the HTML standard says, and prints what is wrong with each as JSON.

page_html.py PAGE.html...

Beside the parse errors of html5lib: ids that are there twice, and names of other elements (for, aria-labelledby and the like)
that lead nowhere.
"""

import json
import pathlib
import sys

import html5lib

REFERENCES = ["for", "aria-labelledby", "aria-describedby"]


def faults(text):
    parser = html5lib.HTMLParser(tree=html5lib.getTreeBuilder("etree"), namespaceHTMLElements=False)
    # As bytes, so that the page's own declaration of its encoding counts.
    tree = parser.parse(text)
    found = [f"{line}:{column}: {code} {places}" for (line, column), code, places in parser.errors]
    elements = [element for element in tree.iter() if isinstance(element.tag, str)]
    ids = [element.get("id") for element in elements if element.get("id") is not None]
    found += [f"the id {name} is there {ids.count(name)} times" for name in sorted(set(ids)) if ids.count(name) > 1]
    for element in elements:
        for reference in REFERENCES:
            names = (element.get(reference) or "").split()
            found += [f"{element.tag}: {reference} names {name}" for name in names if name not in ids]
        if element.tag == "img" and element.get("alt") is None:
            found.append("a picture without alt")
    if not any(element.tag == "title" and (element.text or "").strip() for element in elements):
        found.append("no title")
    return found


print(json.dumps({path: faults(pathlib.Path(path).read_bytes()) for path in sys.argv[1:]}))

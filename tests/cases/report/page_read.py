"""The sentences of a report's page: its blocks of text outside tables, and which of them are the program's own constant text."""

import ast
import re
from functools import cache
from html.parser import HTMLParser

from tests.models.boats import ROOT

_EMPTY = {"br", "img", "meta", "input", "link", "hr", "col"}
_BLOCKS = {"p", "li", "figcaption", "dd", "dt", "h1", "h2", "h3", "summary"}
_NO_TEXT = {"script", "style", "svg", "table"}
_SENTENCE = re.compile(r"(?<=[.;])\s+(?=[A-Z‘“])")
_QUOTED = re.compile(r"‘([^’]*)’")


class _Blocks(HTMLParser):
    def __init__(self):
        super().__init__()
        self.open, self.found, self.text = [], [], []

    def handle_starttag(self, tag, attrs):
        if tag == "img":
            self.found.append(("alt", dict(attrs)["alt"]))
        elif tag not in _EMPTY:
            self.text = [] if tag in _BLOCKS else self.text
            self.open.append(tag)

    def handle_endtag(self, tag):
        if tag in _EMPTY:
            return
        if tag in _BLOCKS:
            self.found.append((tag, " ".join("".join(self.text).split())))
            self.text = []
        while self.open and self.open.pop() != tag:
            pass

    def handle_data(self, data):
        if not _NO_TEXT & set(self.open):
            self.text.append(data)


def blocks(page):
    """(tag, text) of every block of a page outside tables, and of every alternative text of a picture."""
    reader = _Blocks()
    reader.feed(page)
    return [(tag, text) for tag, text in reader.found if text]


def sentences(text):
    """(what stands before it, sentence) of a block."""
    parts = _SENTENCE.split(text)
    return [(" ".join(parts[:number]), part) for number, part in enumerate(parts)]


def without_names(sentence):
    """Without what stands in quotation marks: names hold digits that are no figures."""
    return _QUOTED.sub("‘’", sentence)


def names_in(sentence):
    """What stands in quotation marks."""
    return _QUOTED.findall(sentence)


@cache
def _constants():
    """Every text of the program's that holds nothing computed."""
    found = set()
    for folder in ("cases", "models", "femcore"):
        for path in (ROOT / folder).rglob("*.py"):
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, ast.Constant) and isinstance(node.value, str):
                    found.add(" ".join(node.value.split()))
    pages = (ROOT / "cases/report/pages/templates").glob("*.j2")
    texts = (re.sub(r"<[^>]+>", "", path.read_text(encoding="utf-8")) for path in pages)
    return found, " ".join(" ".join(text.split()) for text in texts)


def is_constant(text):
    """Whether a text is the program's own, with nothing computed in it."""
    constants, templates = _constants()
    return (
        text in constants
        or text in templates
        or any(text in one for one in constants if len(one) > len(text))
    )

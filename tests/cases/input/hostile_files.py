"""Files that nobody writes on purpose, each as bytes made from the demo's own text: what the readers must refuse in a sentence.

A row here was once a traceback, a minute of work or gigabytes of memory. Whatever the fuzzer finds is added.
"""

from collections.abc import Callable
from pathlib import Path

CASES = Path(__file__).resolve().parents[3] / "cases"
DEMO, SHORT_BOWED, REFERENCE = (
    (CASES / name).read_text(encoding="utf-8")
    for name in ("boats/demo.toml", "boats/short_bowed.toml", "input/new_boat.toml")
)


def changed(old: str, new: str, text: str = DEMO) -> Callable[[], bytes]:
    """A file, the demo if none is given, with one text changed."""
    assert old in text
    return lambda: text.replace(old, new, 1).encode("utf-8", "surrogatepass")


def before(text: str) -> Callable[[], bytes]:
    """The demo with keys before its first table."""
    return (text + "\n" + DEMO).encode


STATION, SPACING = 'station = "3.7 m"', 'spacing = "6.4 m"'

HOSTILE: dict[str, tuple[Callable[[], bytes], str]] = {
    "an integer of thousands of digits": (before(f"x = {'9' * 5000}"), "5000 digits"),
    "a float of thousands of digits": (before(f"x = 1.{'9' * 50_000}"), "digits"),
    "a quantity of 50,000 digits": (changed(SPACING, f'spacing = "{"6" * 50_000} m"'), "digits"),
    "a quantity of 50,000 signs": (changed(SPACING, f'spacing = "{"6 " * 25_000} m"'), "characters"),
    "deep lists": (before(f"x = {'[' * 50_000}{']' * 50_000}"), "nested too deeply"),
    "lists of forty levels": (before(f"x = {'[' * 40}{']' * 40}"), "nested too deeply"),
    "deep tables": (before("x = " + "{a=" * 20_000 + "1" + "}" * 20_000), "nested too deeply"),
    "a dotted key of 50,000 parts": (before(".".join("a" * 50_000) + " = 1"), "32 parts"),
    "a dotted key of quoted parts": (before(" . ".join(['"a"'] * 50_000) + " = 1"), "32 parts"),
    "a table of 50,000 parts": (f"[{'.'.join('a' * 50_000)}]".encode, "32 parts"),
    "a date that is none": (before("x = 2026-99-99"), "TOML"),
    "hundreds of unknown keys": (before("\n".join(f"unknown{n} = 1" for n in range(800))), "further faults"),
    "an unknown key of 50,000 letters": (before("k" * 50_000 + " = 1"), "is not known here"),
    "a unit of powers of powers": (changed(SPACING, 'spacing = "6.4 m**9**9**9"'), "not known"),
    "a unit of powers in brackets": (changed(SPACING, 'spacing = "6.4 (m**9)**99"'), "not known"),
    "a unit of a large power": (changed(SPACING, 'spacing = "6.4 m^99999999"'), "not known"),
    "a unit of 50,000 letters": (changed(SPACING, f'spacing = "6.4 {"m" * 50_000}"'), "characters"),
    "a unit of brackets": (changed(SPACING, f'spacing = "6.4 {"(" * 150}m{")" * 40}"'), "not known"),
    "a remark behind a unit": (changed(SPACING, 'spacing = "6.4 m # between centrelines"'), "not known"),
    "a lay-up of 10⁵ layers": (changed('"2x ', '"100000x '), "more than 1000 layers"),
    "a lay-up of 10⁵⁰ layers": (changed('"2x ', f'"1{"0" * 50}x '), "more than 1000 layers"),
    "a control sequence in a title": (changed('title = "', 'title = "\\u001b[31m'), "U+001B"),
    "a change of direction in a name": (changed('title = "', 'title = "\\u202e'), "U+202E"),
    "a control character in a key": (before('"a\\u0007b" = 1'), "U+0007"),
    "bytes of nothing": (lambda: bytes(4096), "TOML"),
    "bytes that are no text": (lambda: bytes(range(256)) * 16, "UTF-8"),
    "UTF-16": (lambda: DEMO.encode("utf-16"), "UTF-8"),
    "a large file": (lambda: b"# " + b"x" * 3_000_000, "larger than 2 MiB"),
    "many values": (before(f"x = [{'1,' * 300_000}]"), "200,000 values"),
    "many tables": (before("[[x]]\n" * 100_000), ""),
    "elements as a flag": (changed(STATION, STATION + "\ndivide = true"), "divide: true is no number"),
    "elements as text": (changed(STATION, STATION + '\ndivide = "8"'), "divide: '8' is no number"),
    "a tang 30 m ahead": (changed('forward = "20 mm"', 'forward = "30 m"'), "too large"),
    "a crossbeam 1,300 m up": (changed('height = "1.35 m"', 'height = "1350 m"'), "too large"),
    "an infinite length": (changed(SPACING, 'spacing = "1e999 m"'), "not finite"),
    "a platform's member far beyond the centreline": (
        changed('inboard = "1.00 m"', 'inboard = "1.1e90 m"', SHORT_BOWED),
        "reaches the centreline",
    ),
    "a sling of no width, in a case that is off": (
        changed('width = "0.15 m" ', 'width = "1e-308 m" ', REFERENCE),
        "'lifted in slings': width: '1e-308 m' is too small",
    ),
}

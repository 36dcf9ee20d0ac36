"""Whatever is held back and stands somewhere in a built site is found, however it is written."""

import base64
import bz2
import gzip
import hashlib
import io
import json
import lzma
import struct
import zipfile
import zlib
from pathlib import Path

import pytest

from fallwork.pages import Answer, HeldBack
from fallwork.site.audit import AuditError, audit

LAB = "2027-spring/level"
RECORDS = b"t,x\n0.00,0.000\n0.05,0.002\n"
HELD = (
    HeldBack(
        what="solution of level in 2027-spring",
        lab=LAB,
        paths=(f"{LAB}/solution", f"{LAB}/figures/solution-"),
        ids=("compare-cart",),
        headings=("Solution: A cart on a level track", "The tension"),
        digests=(hashlib.sha256(RECORDS).hexdigest(),),
        answers=(
            Answer(quantity="tension", value=0.66427893499, unit="N"),
            Answer(quantity="acceleration", value=1.503163312, unit="m/s²"),
            Answer(quantity="end speed", value=1.3430547176, unit="m/s"),
            Answer(quantity="work of friction", value=-0.0197702064, unit="J"),
            Answer(quantity="travel time", value=0.8934855626, unit="s"),
        ),
    ),
)


def look(root: Path, file: str, content: bytes, **open_numbers: frozenset[str]) -> list[str]:
    """What an audit tells of a site with this one file."""
    path = root / file
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)
    numbers = {f"{page}.html": digits for page, digits in open_numbers.items()}
    try:
        audit(root, held=HELD, open_numbers=numbers, packaged=lambda address: None)
    except AuditError as error:
        return [str(finding) for finding in error.findings]
    return []


def html(body: str) -> bytes:
    return f"<!doctype html><html><head><title>T</title></head><body>{body}</body></html>".encode()


def png(kind: bytes, data: bytes) -> bytes:
    """A picture with one note (PNG specification, 11.3.3; from memory)."""
    chunk = struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
    return b"\x89PNG\r\n\x1a\n" + chunk


def archive(name: str, content: str) -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as file:
        file.writestr(name, content)
    return packed.getvalue()


def pdf(stream: bytes) -> bytes:
    """A document with one stream (PDF reference, 1.7, 7.3.8; from memory)."""
    return b"%PDF-1.7\n1 0 obj\n<< >>\nstream\n" + stream + b"\nendstream\nendobj\n"


def inline(kind: str, content: str) -> str:
    return f"data:{kind};base64,{base64.b64encode(content.encode()).decode()}"


def index(location: str, text: str) -> bytes:
    return json.dumps({"docs": [{"location": location, "title": "T", "text": text}]}).encode()


T = "0.664 N"
LEAKS: dict[str, tuple[str, bytes]] = {
    "a hand-written page": ("tips.html", html(f"<p>You should get {T}.</p>")),
    "two figures with the unit": ("tips.html", html("<p>About 0.66 N.</p>")),
    "three figures without": ("tips.html", html("<td>0.664</td>")),
    "six figures": ("tips.html", html("<p>T = 0.664279</p>")),
    "unrounded": ("tips.html", html("<p>0.66427893499</p>")),
    "a decimal comma": ("tips.html", html("<p>0,664 N</p>")),
    "no leading zero": ("tips.html", html("<p>.664 N</p>")),
    "grouped digits": ("tips.html", html("<p>0.664\u2009279 N</p>")),
    "a power of ten": ("tips.html", html("<p>6.64 × 10<sup>−1</sup> N</p>")),
    "a power of ten in a cell": ("a.csv", b"tension\n6.64e-1\n"),
    "millinewtons": ("tips.html", html("<p>664 mN</p>")),
    "millijoules": ("tips.html", html("<p>it loses 19.8 mJ</p>")),
    "centimetres a second": ("tips.html", html("<p>at 134 cm/s</p>")),
    "kilometres an hour": ("tips.html", html("<p>at 4.83 km/h</p>")),
    "centimetres a second squared": ("tips.html", html("<p>150 cm/s²</p>")),
    "multiples of g": ("tips.html", html("<p>a = 0.153 g</p>")),
    "milliseconds": ("tips.html", html("<p>after 893 ms</p>")),
    "a minus sign": ("tips.html", html("<p>−0.0198 J</p>")),
    "split by tags": ("tips.html", html("<p>0.<b>6</b><i>64</i>&nbsp;N</p>")),
    "split by MathML": (
        "tips.html",
        html(
            "<math><mn>0</mn><mo>.</mo><mrow><mn>66</mn><mn>4</mn></mrow>"
            '<mspace width="0.17em"/><mi>N</mi></math>'
        ),
    ),
    "a unit as a MathML fraction": (
        "tips.html",
        html("<math><mn>1.5</mn><mfrac><mi>m</mi><msup><mi>s</mi><mn>2</mn></msup></mfrac></math>"),
    ),
    "character references": ("tips.html", html("<p>0&#46;6&#x36;4 N</p>")),
    "invisible characters": ("tips.html", html("<p>0.6\u200b6&shy;4 N</p>")),
    "a comment": ("tips.html", html(f"<!-- {T} -->")),
    "a text alternative": ("tips.html", html(f'<img src="a.png" alt="An arrow of {T}">')),
    "a name for reading programs": ("tips.html", html(f'<svg aria-label="{T}"></svg>')),
    "a data attribute": ("tips.html", html('<p data-answer="0.664">?</p>')),
    "a description": ("tips.html", f'<meta name="description" content="{T}">'.encode()),
    "a script in the page": ("tips.html", html('<script>{"answer": 0.664}</script>')),
    "a style in the page": ("tips.html", html(f'<p style="--note: &quot;{T}&quot;">?</p>')),
    "a style sheet's comment": ("a.css", f"p {{}} /* {T} */".encode()),
    "a drawing": ("a.svg", f"<svg><text>{T}</text></svg>".encode()),
    "pieces of a drawing's text": (
        "a.svg",
        b"<svg><text><tspan>0.6</tspan><tspan>64</tspan></text></svg>",
    ),
    "a drawing's description": ("a.svg", f"<svg><desc>{T}</desc></svg>".encode()),
    "the search index": ("search/search_index.json", index("tips.html", f"You get {T}")),
    "the search index as a script": (
        "search/search_index.js",
        b"var __index = " + index("tips.html", "<b>0.6</b>64 N"),
    ),
    "a table for a spreadsheet": ("a.csv", b"trial;T / N\n1;0,664\n"),
    "a number in JSON": ("a.json", b'{"tension": 0.66427893499}'),
    "XML": ("feed.xml", f"<feed><title><![CDATA[{T}]]></title></feed>".encode()),
    "a folded line of a calendar": ("a.ics", b"DESCRIPTION:You should get 0.6\r\n 64 N\r\n"),
    "plain text in UTF-16": ("a.txt", T.encode("utf-16")),
    "packed": ("sitemap.xml.gz", gzip.compress(f"<a>{T}</a>".encode())),
    "packed otherwise": ("notes.txt.xz", lzma.compress(T.encode())),
    "packed otherwise again": ("notes.txt.bz2", bz2.compress(T.encode())),
    "an archive": ("all.zip", archive("notes.txt", T)),
    "a document that is an archive": ("report.odt", archive("content.xml", f"<p>{T}</p>")),
    "a spoiled archive": ("all.zip", b"PK\x03\x04 " + T.encode()),
    "a document's page": ("a.pdf", pdf(zlib.compress(b"BT (You get ) Tj (0.664 N) Tj ET"))),
    "a document's page that isn't packed": ("a.pdf", pdf(b"BT [(0.6) -20 (64) -300 (N)] TJ ET")),
    "a document's title": ("a.pdf", b"%PDF-1.7\n1 0 obj\n<< /Title (0.664 N) >>\nendobj\n"),
    "a drawing in the address of an image": (
        "tips.html",
        html(f'<img alt="" src="{inline("image/svg+xml", f"<svg><text>{T}</text></svg>")}">'),
    ),
    "a page in an address": ("tips.html", html('<a href="data:text/plain,0%2E664%20N">x</a>')),
    "a spoiled note of a picture": ("a.png", png(b"zTXt", b"Comment\0\0 " + T.encode())),
    "a picture's note": ("a.png", png(b"tEXt", f"Comment\0{T}".encode())),
    "a picture's packed note": ("a.png", png(b"zTXt", b"Comment\0\0" + zlib.compress(T.encode()))),
    "a picture's note in Unicode": ("a.png", png(b"iTXt", f"Comment\0\0\0en\0\0{T}".encode())),
    "a photograph's note": ("a.jpg", b"\xff\xd8\xff\xfe\x00\x10\x00" + T.encode() + b"\xff\xd9"),
    "a file name": ("pictures/tension-0.664N.png", b"\x89PNG\r\n\x1a\n"),
    "a file that is held back": (f"{LAB}/figures/solution-tension.svg", b"<svg></svg>"),
    "a page that is held back": (f"{LAB}/solution.html", html("<p>Soon</p>")),
    "a link to it": (f"{LAB}/tips.html", html('<a href="solution.html#x">next page</a>')),
    "its address as text": ("robots.txt", f"Disallow: /{LAB}/solution.html".encode()),
    "its heading": ("tips.html", html("<p>Solution: <b>A cart</b> on\na level track</p>")),
    "a short heading": (f"{LAB}/prelab.html", html("<h3>The <em>tension</em></h3>")),
    "a short heading in the index": (
        "search/search_index.json",
        json.dumps({"docs": [{"location": f"{LAB}/x.html#t", "title": "The tension"}]}).encode(),
    ),
    "a step that is held back": (f"{LAB}/prelab.html", html('<h2 id="compare-cart">C</h2>')),
    "a link to the step": ("tips.html", html(f'<a href="{LAB}/prelab.html#compare-cart">C</a>')),
    "records under another name": ("files/example.txt", RECORDS),
}


@pytest.mark.parametrize("leak", LEAKS)
def test_a_leak_is_found(tmp_path: Path, leak: str) -> None:
    file, content = LEAKS[leak]
    found = look(tmp_path, file, content)
    assert found
    assert all(line.startswith(f"{file}, ") for line in found)


HARMLESS = {
    "another number": html("<p>0.665 N</p>"),
    "one figure": html("<p>0.7 N</p>"),
    "two figures without unit": html("<p>0.66</p>"),
    "another unit": html("<p>0.664 kg, 1.50 m, 150 cm, 66 %</p>"),
    "two cells": html("<tr><td>0</td><td>.6</td><td>64 N</td></tr>".replace(".6", "6")),
    "a date and a version": html("<p>2027-01-50, version 1.50.3, 0.66.4</p>"),
    "a place in a drawing": html('<svg viewBox="0 0 0.664 1.50"><path d="M0.664,1.50"/></svg>'),
    "a time in a style": html("<style>p { transition: 0.893s }</style>"),
    "a mass": html("<p>± 0.15 g</p>"),
    "another lab's page": html('<a href="2026-autumn/level/solution.html">last term</a>'),
    "an identifier": html("<p>15957dd4-b2a2-5e65-8de6-99e778ac918a, 66e-778</p>"),
    "the words of a short heading": html("<p>The tension</p><h3>The tension of today</h3>"),
    "the word": html("<p>Solution: opens on Monday</p>"),
}


@pytest.mark.parametrize("text", HARMLESS)
def test_what_gives_nothing_away_is_let_through(tmp_path: Path, text: str) -> None:
    assert look(tmp_path, "tips.html", HARMLESS[text]) == []


def test_the_message_names_file_place_and_what_it_is(tmp_path: Path) -> None:
    assert look(tmp_path, "tips.html", html(f"\n<p>You get {T}.</p>")) == [
        'tips.html, line 2: "0.664 N", which is tension; '
        "the solution of level in 2027-spring is held back"
    ]


def test_a_number_that_a_pages_own_lesson_has_may_stand_there_and_nowhere_else(
    tmp_path: Path,
) -> None:
    own = frozenset(["0.664"])
    assert look(tmp_path, "example.html", html(f"<p>{T}</p>"), example=own) == []
    assert look(tmp_path, "search/i.json", index("example.html#tension", T), example=own) == []
    assert len(look(tmp_path, "tips.html", html(f"<p>{T}</p>"), example=own)) == 1


def test_a_file_of_a_program_is_not_read_unless_it_was_changed(tmp_path: Path) -> None:
    (tmp_path / "bundle.js").write_text(f'"{T}"')
    audit(tmp_path, held=HELD, open_numbers={}, packaged=lambda address: f'"{T}"'.encode())
    with pytest.raises(AuditError):
        audit(tmp_path, held=HELD, open_numbers={}, packaged=lambda address: b'"0.600 N"')


def test_all_leaks_are_told_at_once_up_to_twenty(tmp_path: Path) -> None:
    for number in range(23):
        (tmp_path / f"{number:02}.txt").write_text(T)
    with pytest.raises(AuditError) as caught:
        audit(tmp_path, held=HELD, open_numbers={}, packaged=lambda address: None)
    lines = str(caught.value).splitlines()
    assert lines[0] == "The site would give away what is held back, so it isn't published:"
    assert len(lines) == 23
    assert lines[-2:] == [
        "and 3 more places",
        "Take it out there, or publish again once it is open.",
    ]

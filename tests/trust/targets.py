"""What is fed with bytes that nobody would write: from text to writers, one target each.

A target returns where its input ended as it may, and raises where it did not: any exception of the program is a defect.
"""

import json
import math
from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path

from lsprotocol import types

from lineshaft import __version__
from lineshaft.check.checker import Checker
from lineshaft.check.rulebook import open_rulebook
from lineshaft.language_server.client_text import ClientText, Encoding
from lineshaft.schema.loading import FileKind
from lineshaft.schema.quantities.quantity import LEAST, MOST, BadQuantity, quantity
from lineshaft.schema.quantities.ratio import ratio
from lineshaft.schema.quantities.units import LISTED
from lineshaft.schema.text.text import read_text
from lineshaft.schema.text.undecodable import Undecodable
from lineshaft.testing import CATALOGUE
from lineshaft.write.formats import WRITERS
from lineshaft.write.summary import Run

Target = Callable[[bytes], None]
DAY = date(2026, 11, 25)
_FOLDER = Path(Path.cwd().anchor, "lineshaft.fuzzed")  # no such folder: all files are given
_BOOK = open_rulebook()
_QUICK_WRITERS = ("json", "sarif", "junit", "github", "gitlab", "markdown")
_USES = """\
rig: 1
catalogue: works.catalogue.yaml
parts:
  wheel: {item: wheel}
  leg: {blueprint: leg.blueprint.yaml, driven-by: {in: wheel}}
"""


def text(raw: bytes) -> None:
    """Bytes as a text: decoded, or refused with a place inside it."""
    found = read_text(_FOLDER / "a.rig.yaml", "a.rig.yaml", raw)
    if isinstance(found, Undecodable):
        assert found.span.start.line >= 1 and found.span.start.column >= 1
    else:
        assert found.text.encode("utf-8") == raw.removeprefix(b"\xef\xbb\xbf")


def quantities(raw: bytes) -> None:
    """A scalar as each kind of quantity: a number within bounds, or a sentence."""
    scalar = raw.decode("utf-8", "replace")
    for kind in LISTED:
        found = quantity(scalar, kind, zero=True)
        if isinstance(found, BadQuantity):
            assert found.message.strip()
        else:
            assert found == 0 or LEAST <= found <= MOST


def ratios(raw: bytes) -> None:
    """A scalar as a ratio: of 1 or more and finite, or a sentence."""
    found = ratio(raw.decode("utf-8", "replace"))
    if isinstance(found, BadQuantity):
        assert found.message.strip()
    else:
        assert found.value >= 1 and math.isfinite(float(found.value))


def _judged(kind: FileKind, name: str, raw: bytes, *others: str) -> None:
    """A file of a kind beside a sound catalogue, judged by all rules and written in all formats but the slow one."""
    files = {"works.catalogue.yaml": CATALOGUE.encode(), **{other: _USES.encode() for other in others}, name: raw}
    texts = {_FOLDER / file: content for file, content in files.items()}
    checker = Checker(_FOLDER, _BOOK, day=DAY, texts=texts)
    judged = checker.judged(checker.job(_FOLDER / name, kind))
    reports = [judged.report]
    for other in others:
        reports.append(checker.judged(checker.job(_FOLDER / other, "rig")).report)
    for report in reports:
        assert not judged.traces, judged.traces
        for finding in report.findings:
            assert finding.rule not in ("internal-error", "rule-crashed"), finding.message
            assert finding.span.start.line >= 1 and finding.span.start.column >= 1
    for writer in _QUICK_WRITERS:
        written = WRITERS[writer](Run(__version__, tuple(reports)))
        if writer in ("json", "sarif", "gitlab"):
            json.loads(written)


def rig(raw: bytes) -> None:
    """A rig through loader, solver, rules and writers."""
    _judged("rig", "a.rig.yaml", raw)


def catalogue(raw: bytes) -> None:
    """A catalogue, and a rig that draws on it."""
    _judged("catalogue", "works.catalogue.yaml", raw, "b.rig.yaml")


def blueprint(raw: bytes) -> None:
    """A blueprint judged alone, and the rig that places it."""
    _judged("blueprint", "leg.blueprint.yaml", raw, "b.rig.yaml")


def stock(raw: bytes) -> None:
    """What lies in a yard."""
    _judged("stock", "a.stock.yaml", raw)


def edits(raw: bytes) -> None:
    """A text in an editor, and changes of it at places that may be nowhere: each version is the one reckoned by hand.

    The first three bytes are the encoding and where a change begins and ends, the next ones what is put in.
    """
    if len(raw) < 4:
        return
    encoding: Encoding = ("utf-8", "utf-16", "utf-32")[raw[0] % 3]
    put, _, start = raw[3:].decode("utf-8", "replace").partition("\0")
    version = ClientText(start, encoding)
    where = types.Range(types.Position(raw[1] % 9, raw[1] // 9), types.Position(raw[2] % 9, raw[2] // 9))
    low, high = sorted((version.index(where.start), version.index(where.end)))
    assert 0 <= low <= high <= len(start)
    after = version.with_change(types.TextDocumentContentChangePartial(where, put))
    assert after.text == start[:low] + put + start[high:]
    for index in (0, low, high, len(start)):
        place = version.position(index)
        assert 0 <= place.line < version.line_count()
        assert version.index(place) <= index


TARGETS: Mapping[str, Target] = {
    "text": text,
    "quantities": quantities,
    "ratios": ratios,
    "rig": rig,
    "catalogue": catalogue,
    "blueprint": blueprint,
    "stock": stock,
    "edits": edits,
}

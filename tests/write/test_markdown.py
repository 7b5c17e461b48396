"""The Markdown summary, read by `markdown-it-py` with GitHub's extensions (tables, strike-through, bare addresses)."""

from collections.abc import Iterator
from dataclasses import replace

import pytest
from markdown_it import MarkdownIt
from markdown_it.token import Token
from write.made_runs import HOSTILE, hostile_run, plain, run_of

from lineshaft.write.markdown import markdown
from lineshaft.write.summary import Run

FLAT = {"text", "code_inline", "fence", "inline"}
BUILT = {"heading", "paragraph", "table", "thead", "tbody", "tr", "th", "td"}


def _tokens(run: Run) -> list[Token]:
    return MarkdownIt("gfm-like").parse(markdown(run).decode())


def _flat(tokens: list[Token]) -> Iterator[Token]:
    for token in tokens:
        yield token
        yield from _flat(token.children or [])


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE.keys())
def test_a_strangers_text_stays_text(text: str) -> None:
    """No link, picture, HTML, emphasis or list; plain text outside code holds our own words only."""
    tokens = _tokens(hostile_run(text))
    kinds = {token.type.removesuffix("_open").removesuffix("_close") for token in _flat(tokens)}
    assert kinds <= FLAT | BUILT
    ours = {"lineshaft", "level", "rule", "part", "place", "finding", "error", "waived", "snag, error"}
    ours |= {"Inspected 1 file, 2 parts: 1 error, 0 warnings, 0 notes, 1 waived, 1 snag."}
    ours |= {"The worst, with what leads to them"}
    assert {token.content for token in _flat(tokens) if token.type == "text" and token.content} <= ours
    assert sum(token.type == "tr_open" for token in tokens) == 4
    assert sum(token.type == "td_open" for token in tokens) == 3 * 5


@pytest.mark.parametrize("name", ["markup", "backticks", "pipes", "mention", "SARIF", "emoji"])
def test_the_text_is_shown_as_it_is(name: str) -> None:
    """What a reader sees in the cell of the part is the part's name."""
    spans = [token.content for token in _flat(_tokens(hostile_run(HOSTILE[name]))) if token.type == "code_inline"]
    assert spans[1] == HOSTILE[name]


def test_the_worst_come_first() -> None:
    """Errors before warnings, and of two errors the one farther over its limit."""
    run = run_of(plain("warning", 1, over=9), plain("error", 2, over=1.5), plain("error", 3, over=4))
    spans = [token.content for token in _flat(_tokens(run)) if token.type == "code_inline"]
    assert spans[1::4] == ["p3", "p2", "p1"]
    blocks = [token.content for token in _tokens(run) if token.type == "fence"]
    assert [block.split(",")[0].split()[-1] for block in blocks] == ["p3", "p2", "p1"]
    assert "| wheel gives too much  [tern.rig.yaml line 1]" in blocks[0]


def test_it_fits_a_comment_and_says_what_is_left_out() -> None:
    """Of 3,000 findings with long names at most 60,000 characters, and shown and left out make 3,000."""
    run = run_of(*(replace(plain("error", n), part=f"p{n}-{'≈' * 60}") for n in range(3000)))
    text = markdown(run)
    assert len(text) <= 60_000
    tokens = MarkdownIt("gfm-like").parse(text.decode())
    rows = sum(token.type == "tr_open" for token in tokens) - 1
    (left,) = [t.content.split()[0] for t in tokens if t.type == "inline" and t.content.endswith("are not shown.")]
    assert rows + int(left) == 3000
    assert rows >= 100
    assert any(token.type == "fence" for token in tokens)

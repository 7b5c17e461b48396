"""Drawings in a real browser: each rule's mark is seen inside its card, text keeps to it, sheets fit the paper."""

import re
from pathlib import Path
from typing import Any

import pytest
from command_runner import run_for_bytes
from rig_maker import make_rig

ROOT = Path(__file__).resolve().parents[2]
RULES = ROOT / "tests" / "rules"
UNREAD = {"not-yaml", "not-schema", "bad-quantity"}  # nothing is solved, so there is nothing to draw
TWINS = sorted(
    path.name for path in RULES.iterdir() if (path / "breaks.rig.yaml").exists() and path.name not in UNREAD
)
OVERFLOW = """() => [...document.querySelectorAll('g[id]')].flatMap(card => {
    const edge = [...card.children].filter(one => one.matches('rect.card')).at(-1)?.getBoundingClientRect();
    if (!edge) return [];
    return [...card.querySelectorAll('text,.mark,.sign')].filter(one => {
        const box = one.getBoundingClientRect();
        return box.left < edge.left - 1 || box.right > edge.right + 1 || box.top < edge.top - 1
            || box.bottom > edge.bottom + 1 || box.width === 0;
    }).map(one => card.id + ': ' + one.textContent);
})"""


def drawn(rig: str, target: Path, *options: str) -> Path:
    """The drawing of a rig on a page."""
    ran = run_for_bytes(ROOT, "draw", rig, "--date", "2026-11-25", *options)
    assert ran.returncode == 0, ran.stderr
    target.write_text(f"<!DOCTYPE html><meta charset=utf-8><style>body{{margin:0}}</style>{inner(ran.stdout)}", "utf-8")
    return target


def inner(raw: bytes) -> str:
    """An SVG file without its declaration."""
    return raw.decode("utf-8").partition("?>")[2]


@pytest.mark.parametrize("rule", TWINS)
def test_every_rules_mark_is_seen_in_its_card(rule: str, open_page: Any, tmp_path: Path) -> None:
    """`breaks` lists the rule, its mark is in a card or at a circuit; `holds` has none; all text keeps inside."""
    for name in ("breaks", "holds"):
        page = open_page(drawn(f"tests/rules/{rule}/{name}.rig.yaml", tmp_path / f"{name}.html")).page
        listed = page.locator("text", has_text=re.compile(f"^{rule}( at|:)")).count()
        assert (listed > 0) == (name == "breaks")
        assert page.evaluate(OVERFLOW) == []
        if name == "breaks" and rule not in ("budget-exceeded", "edition-drift", "commissioning-incomplete"):
            assert page.locator("g[id] .mark:visible, .circuit .sign:visible").count() > 0


def test_the_start_up_that_fails_is_what_is_drawn(open_page: Any, tmp_path: Path) -> None:
    """Started too soon: step 2 is named, the shaft shows 2.25 times and the finding's number, inside its card."""
    page = open_page(drawn("sample_rigs/started-too-soon.rig.yaml", tmp_path / "a.html")).page
    assert page.get_by_text("Drawn is the state that fails: step 2 of the start-up, start wheel.").is_visible()
    card = page.locator("g[id]", has=page.locator("title", has_text=re.compile("^lay: ")))
    assert card.get_by_text("2.25×").is_visible()
    assert card.get_by_text("E1", exact=True).is_visible()
    assert page.locator("path.casing").count() == 2  # from wheel to step, from step to lay


@pytest.mark.parametrize("sample", ["whole-works", "overloaded-step", "inherited-mill"])
@pytest.mark.parametrize("width", [1280, 390])
def test_a_drawing_is_readable_at_any_width(sample: str, width: int, open_page: Any, tmp_path: Path) -> None:
    """No text is drawn smaller than 8 px: a wide drawing scrolls rather than shrink further."""
    page = open_page(drawn(f"sample_rigs/{sample}.rig.yaml", tmp_path / "a.html"), width=width).page
    sizes = page.locator("svg text").evaluate_all(
        "all => all.map(one => parseFloat(getComputedStyle(one).fontSize) * one.getCTM().a)"
    )
    assert min(sizes) >= 8


@pytest.mark.parametrize("parts", [100, 500])
def test_a_large_works_opens_readable_and_prints_whole(parts: int, open_page: Any, tmp_path: Path) -> None:
    """Seeded works: no text under 8 px, all text inside its card, and one sheet of paper."""
    made = make_rig(7, parts)
    (tmp_path / made.catalogue).write_text(made.catalogue_text, "utf-8")
    (tmp_path / "a.rig.yaml").write_text(made.text, "utf-8")
    page = open_page(drawn(str(tmp_path / "a.rig.yaml"), tmp_path / "a.html")).page
    sizes = page.locator("svg text").evaluate_all(
        "all => all.map(one => parseFloat(getComputedStyle(one).fontSize) * one.getCTM().a)"
    )
    assert min(sizes) >= 8
    assert page.evaluate(OVERFLOW) == []
    raw = page.pdf(format="A3", margin=dict.fromkeys(("top", "right", "bottom", "left"), "10mm"))
    assert len(re.findall(rb"/Type\s*/Page\b(?!s)", raw)) == 1


@pytest.mark.parametrize("sample", ["whole-works", "overloaded-step"])
@pytest.mark.parametrize("paper", ["A4", "A3"])
def test_a_drawing_is_one_sheet_of_paper(sample: str, paper: str, open_page: Any, tmp_path: Path) -> None:
    """Printed to PDF it takes one page, upright or lying as it is itself, and nothing is cut."""
    page = open_page(drawn(f"sample_rigs/{sample}.rig.yaml", tmp_path / "a.html")).page
    raw = page.pdf(format=paper, margin=dict.fromkeys(("top", "right", "bottom", "left"), "10mm"))
    assert len(re.findall(rb"/Type\s*/Page\b(?!s)", raw)) == 1


def test_a_film_shows_a_frame_a_step(open_page: Any, tmp_path: Path) -> None:
    """Three frames, the second with the break; names and numbers keep inside their boxes."""
    page = open_page(drawn("sample_rigs/started-too-soon.rig.yaml", tmp_path / "a.html", "--film")).page
    assert page.locator("g[id^=step-]").count() == 3
    assert page.locator("#step-2 .film-part.breaks").count() == 2
    assert page.evaluate(OVERFLOW) == []

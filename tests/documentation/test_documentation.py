"""What the pages show is what the program prints, and what they name is there."""

from pathlib import Path

import pytest
from documentation.pages import PAGES, ROOT, printed

SHOWING = [page for page in PAGES if "```console" in page.read_text("utf-8")]


@pytest.mark.parametrize("page", SHOWING, ids=lambda page: page.relative_to(ROOT).as_posix())
def test_commands_print_what_is_shown(page: Path) -> None:
    """Each command prints exactly the lines below it."""
    shown = list(printed(page))
    assert len(shown) == page.read_text("utf-8").count("```console")
    for found, text in shown:
        assert text == found["shown"], found["command"]


def test_there_are_pages_that_show_commands() -> None:
    """The walk through a broken rig, and the first rig, are among them."""
    names = {page.relative_to(ROOT).as_posix() for page in SHOWING}
    assert {"README.md", "docs/tutorial.md", "docs/guides/a-broken-rig.md"} <= names


def test_the_readme_is_short_and_has_its_picture() -> None:
    """At most 120 lines, and one picture, that the tool has drawn."""
    text = (ROOT / "README.md").read_text("utf-8")
    assert len(text.splitlines()) <= 120
    assert text.count("](docs/overloaded-step.svg)") == text.count("![") == 1


def test_every_page_stands_in_the_contents() -> None:
    """The site is built strictly: a page that no list of contents in `docs/index.md` names would stop it."""
    index = (ROOT / "docs" / "index.md").read_text("utf-8")
    named = {line for block in index.split("```{toctree}")[1:] for line in block.split("```")[0].split("\n")}
    pages = {page.relative_to(ROOT / "docs").with_suffix("").as_posix() for page in PAGES if page.name != "README.md"}
    assert sorted(pages - named - {"index"}) == []

"""``lineshaft rules`` and the rules' pages: none is without its page, its samples or its line in the list."""

import pytest

from lineshaft.check.registry import own_ids
from lineshaft.check.rule import Rule
from lineshaft.check.rulebook import open_rulebook
from lineshaft.cli import run
from lineshaft.commands.explain import sample

OURS = tuple(rule for rule in open_rulebook().rules if rule.id in own_ids())
HEADINGS = ("What: ", "Why: ", "How to repair: ", "Source: ")


@pytest.mark.parametrize("rule", OURS, ids=lambda rule: rule.id)
def test_every_rule_has_a_whole_page(rule: Rule) -> None:
    """A sentence first, then What, Why, How to repair and Source, each once, in this order and not empty."""
    first, _, rest = rule.page.strip().partition("\n")
    assert first.endswith("."), first
    paragraphs = [p for p in rest.strip().split("\n\n") if p.startswith(HEADINGS)]
    assert [next(h for h in HEADINGS if p.startswith(h)) for p in paragraphs] == list(HEADINGS)
    assert all(len(p.partition(": ")[2].strip()) > 3 for p in paragraphs)


@pytest.mark.parametrize("rule", OURS, ids=lambda rule: rule.id)
@pytest.mark.parametrize("which", ["breaks", "holds"])
def test_every_rule_has_its_samples(rule: Rule, which: str) -> None:
    """There is a file that breaks the rule, and one that holds, each with a comment that says why."""
    text = sample(rule.id, which)
    assert text is not None
    assert text.startswith("# ")


def test_the_list_has_a_line_a_rule(capsys: pytest.CaptureFixture[str]) -> None:
    """Id, level and the page's first line, sorted by id; every rule is named once."""
    assert run(["rules"]) == 0
    lines = [line for line in capsys.readouterr().out.splitlines() if not line.startswith(" ")]
    names = [line.split()[0] for line in lines]
    assert names == sorted(set(names))
    assert {rule.id for rule in OURS} <= set(names)
    (line,) = (line for line in lines if line.startswith("drive-loop "))
    assert line.split(None, 2)[1:] == ["error", "Parts drive each other in a circle."]

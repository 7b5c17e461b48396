"""The words of the field stand in the code, and those that only its first authors knew do not come back."""

import ast
import io
import re
import tokenize
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]

RETIRED = {  # a word: what stands for it now
    "ledger": "result cache", "recall": "get", "witness": "dependency recorder", "evidence": "dependencies",
    "foreman": "runner", "staffing": "job options", "parcel": "batch", "parcels": "batches",
    "bench": "checker", "dossier": "report model", "dossiers": "report models",
    "workshop": "repair context",
    "joint": "fix all", "badness": "severity measure", "memo": "cache", "snagging": "snag lists",
}
"""Never in a name, nor in a docstring or comment of the code."""
RETIRED_NAMES = {
    "Question": "Query", "Station": "WorkerContext", "Site": "ResolvedPolicy", "Sheet": "FileReport",
    "Ground": "FileContext", "Ask": "SearchFor", "Way": "Strategy", "Trial": "EditedRig",
    "ByHand": "NoFix", "Candidate": "Fix",
    "Offered": "Strategies", "Standing": "AsBuilt", "Lines": "Components",
    "standing": "as_built", "elsewhere": "blueprint_location", "mixes": "ratio_sets",
    "closing": "part_removal", "cutting": "partial_rig", "verdicts": "finding_diff", "site": "resolved",
}
"""Whole names, of classes and modules or of values, that are ordinary words in a sentence."""
MODULES = {*RETIRED_NAMES, "passing", "judge", "judging", "jobs", "lines", "readings", "offers", "misfit"}
USED_OTHERWISE = {  # the word in another sense than the retired one
    ("lint/write/drawing/layers.py", "closing"),  # of the drawing: where a ring is closed
    ("lint/write/drawing/rings.py", "closing"),
    ("lint/write/drawing/svg.py", "closing"),
    ("lint/run/runner.py", "closing"),  # contextlib's
    ("lint/commands/check.py", "closing"),
    ("lint/starters/catalogue_rows.py", "Sheet"),  # of a spreadsheet
    ("lint/starters/from_rows.py", "Sheet"),
    ("lint/starters/rig_rows.py", "Sheet"),
}


def _files() -> Iterator[tuple[str, str]]:
    for folder in ("lint", "schema", "rules"):
        for path in sorted((ROOT / folder).rglob("*.py")):
            yield path.relative_to(ROOT).as_posix(), path.read_text("utf-8")


def words_of(name: str) -> list[str]:
    """The words of a name: `_FileContext` and `file_context` have two."""
    return [word.lower() for word in re.findall(r"[A-Z]?[a-z]+|[A-Z]+(?![a-z])", name)]


def retired_in(file: str, text: str) -> list[str]:
    """Each retired word in the names, docstrings and comments of a file, with its line."""
    found = []
    for token in tokenize.generate_tokens(io.StringIO(text).readline):
        where = f"{file}:{token.start[0]}"
        if token.type == tokenize.NAME:
            if token.string in RETIRED_NAMES and (file, token.string) not in USED_OTHERWISE:
                found.append(f"{where} {token.string}: {RETIRED_NAMES[token.string]}")
            found += [f"{where} {token.string}: {RETIRED[w]}" for w in words_of(token.string) if w in RETIRED]
        elif token.type == tokenize.COMMENT or (token.type == tokenize.STRING and '"""' in token.string[:5]):
            said = re.findall("[a-z]+", token.string.lower())
            found += [f"{where} `{word}`: {RETIRED[word]}" for word in said if word in RETIRED]
    return found


def test_no_name_and_no_docstring_has_a_retired_word() -> None:
    """Modules, classes, functions, attributes, arguments and variables; docstrings and comments too."""
    assert [each for file, text in _files() for each in retired_in(file, text)] == []


def test_no_module_has_a_retired_name() -> None:
    """Nor a folder."""
    names = {part for file, _ in _files() for part in Path(file).with_suffix("").parts}
    retired = {name for name in names if name in MODULES or set(words_of(name)) & RETIRED.keys()}
    assert sorted(retired) == []


def test_what_is_planted_is_found() -> None:
    """A class, a value, an attribute, a docstring and a comment, each with its line."""
    planted = (
        'class Bench:\n    """Keeps the ledger."""\n\ndef f(site):\n    return site.foreman_of  # in a parcel\n'
    )
    ast.parse(planted)
    lines = [each.split()[0].partition(":")[2] for each in retired_in("planted.py", planted)]
    assert lines == ["1", "2", "4", "5", "5", "5"]

"""The file is not safe, plain YAML 1.2 in UTF-8.

What: the bytes are not UTF-8, the text is not YAML, or it uses what rig files do without: tags other than the core
ones, merge keys, a key twice in one mapping, several documents, or more nesting, nodes and aliases than a rig needs.

Why: two programs read such a file in two ways, or only one of them at all; a rig must mean the same on every server.

How to repair: save the file as UTF-8; write repeated values out; give each document a file of its own. Text that only
looks special goes into quotes.

Source: YAML 1.2.2, chapters 5 and 10.3 (core schema).
"""

from __future__ import annotations

from collections.abc import Iterator

from lineshaft import api


def check(rig: api.SolvedRig) -> Iterator[api.Reported]:
    """The faults of this rule that reading the file has shown."""
    yield from api.faults_of(rig, "not-yaml")


RULE = api.Rule("not-yaml", "error", check, local=True)

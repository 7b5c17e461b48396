"""The file does not fit the JSON Schema of its kind.

What: a key is unknown or missing, or a value has another type or another word than the schema lists.

Why: a key with a slip of the pen would otherwise be passed over in silence, and the rig judged without it.

How to repair: use the key or word that the message names; `lineshaft schema rig` prints the whole schema, and an editor
that reads JSON Schema completes from it.

Source: the published schemas, JSON Schema draft 2020-12.
"""

from __future__ import annotations

from collections.abc import Iterator

from lineshaft import api


def check(rig: api.SolvedRig) -> Iterator[api.Reported]:
    """The faults of this rule that reading the file has shown."""
    yield from api.faults_of(rig, "not-schema")


RULE = api.Rule("not-schema", "error", check, local=True)

"""The rows of fuzzing: mutated files through every command, and how many inputs all runs so far have tried."""

import json
import tempfile
from collections.abc import Iterator
from pathlib import Path

from trust.explore import inputs_so_far
from trust.mutate import RECORD
from trust.table import Form, Row
from trust.trial import try_seed

GOAL = 1_000_000


def rows(form: Form) -> Iterator[Row]:
    """A run of some inputs, the short form's always the same; in the long form the sum of all runs too."""
    first, count = form.first, form.of(60, 3000)
    with tempfile.TemporaryDirectory() as name:
        found = [
            trouble
            for seed in range(first, first + count)
            for trouble in try_seed(seed, Path(name) / "works", count_calls=seed % 10 == 0)
        ]
    told = f"; the first: seed {found[0].seed}, {found[0].what}" if found else ""
    now, seeds = f"{len(found)} of {count:,}{told}", f"{first}..{first + count}"
    yield Row("mutated files that end in no verdict", "0", now, seeds, not found)
    if form.long:
        inputs = int(json.loads(RECORD.read_text("utf-8"))["inputs"])
        led = inputs_so_far()
        now = f"{inputs + led:,}: {inputs:,} through commands, {led:,} led by coverage"
        yield Row("inputs over all runs", f"{GOAL:,}", now, f"{RECORD.name}, explored.json", inputs + led >= GOAL)

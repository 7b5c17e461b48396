"""The lines of files that findings are about, for writers that show them."""

import os
from collections.abc import Callable, Iterable
from pathlib import Path

from lineshaft.check.finding import Finding
from lineshaft.schema.text.repository import Refusal, Repository
from lineshaft.schema.text.text import SourceText, read_text

LONGEST = 100_000
"""Characters of a line that are kept."""


def source_lines(
    findings: Iterable[Finding], working: Path, repository_of: Callable[[Path], Repository]
) -> dict[tuple[str, int], str]:
    """By file (as shown) and number each line where a finding begins.

    None of a file that cannot be read any more, or that its repository may not open.
    """
    wanted: dict[str, set[int]] = {}
    for finding in findings:
        wanted.setdefault(finding.file, set()).add(finding.span.start.line)
    found: dict[tuple[str, int], str] = {}
    for file, numbers in wanted.items():
        path = Path(os.path.normpath(working / file))
        raw = repository_of(path).read(path)
        source = None if isinstance(raw, Refusal) else read_text(path, file, raw)
        if isinstance(source, SourceText):
            starts = source.lines()
            for number in numbers:
                if number <= len(starts):
                    start = starts[number - 1]
                    end = starts[number] - 1 if number < len(starts) else len(source.text)
                    found[file, number] = source.text[start : min(end, start + LONGEST)]
    return found

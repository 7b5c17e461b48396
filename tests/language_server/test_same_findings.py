"""An editor shows what a check finds, no more and no fewer: rule, severity, place, words and chain of causes.

`LINESHAFT_LONG=1` takes 1,000 seeded rigs in place of 18. Columns are counted in code points here, as a check does.
"""

import json
import os
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

from command_runner import run
from editor import Editor, edit
from lsprotocol import types
from rig_maker.maker import make_rig

SEEDS = 1000 if os.environ.get("LINESHAFT_LONG") == "1" else 18
TWINS = Path(__file__).resolve().parents[1] / "rules"
SEVERITY = {"error": 1, "warning": 2, "note": 3}
Row = tuple[Any, ...]
SPOILT: tuple[Callable[[str], str], ...] = (
    lambda text: text,
    lambda text: text.replace("set: reduce", "set: increase", 1),
    lambda text: re.sub(r"driven-by: (\w+-)", r"driven-by: x\1", text, count=1),
    lambda text: text[: text.index("commissioning:")] if "commissioning:" in text else text,
    lambda text: text.replace("label: marked", "labl: 🌊 é", 1),
    lambda text: re.sub(r"ratio: \S+", "ratio: 29/7", text, count=1),
)
"""What becomes of a generated rig, by its seed: nothing, or a fault that people make."""


def checked(folder: Path, name: str) -> list[dict[str, Any]]:
    """The findings of a check of one file, without repairs."""
    ran = run(folder, "check", "--no-cache", "--no-repairs", "--write", "json=-", name)
    found: list[dict[str, Any]] = json.loads(ran.stdout)["findings"]
    return found


def each_by_itself(findings: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The findings, those that a check tells as one each by itself, as an editor shows them at their places.

    A check gives the chain of causes of the worst of these alone, before what tells of the others.
    """
    every = []
    for finding in findings:
        because = [one for one in finding["because"] if not one["message"].startswith("has it too")]
        for one in finding.get("alike", ()):
            causes = because if one["fingerprint"] == finding["fingerprint"] else None
            every.append({**finding, **one, "because": causes})
        if "alike" not in finding:
            every.append(finding)
    return every


def told(findings: list[dict[str, Any]], file: str) -> list[Row]:
    """What a check tells of each finding; a place in another file stands first among the causes."""
    rows = []
    for finding in findings:
        accepted = finding["waived"] is not None or finding["snag"] is not None
        severity = 4 if accepted else SEVERITY[finding["level"]]
        place = _place_told(finding)
        elsewhere = [] if finding["file"] == file else [(*place, None)]
        causes = [(*_place_told(cause), _said(cause)) for cause in finding["because"] or ()]
        here = place if finding["file"] == file else None
        rows.append((finding["rule"], severity, here, finding["message"], tuple(elsewhere + causes)))
    return sorted(rows, key=repr)


def _place_told(entry: dict[str, Any]) -> Row:
    return entry["file"], *(entry[end][axis] - 1 for end in ("start", "end") for axis in ("line", "column"))


def _said(cause: dict[str, Any]) -> str:
    return f"{cause['part']} {cause['message']}" if cause["part"] else str(cause["message"])


def shown(editor: Editor, diagnostics: list[types.Diagnostic], findings: list[dict[str, Any]], file: str) -> list[Row]:
    """The same of what the editor shows; the words are a check's where the editor's hold them."""
    message = {finding["fingerprint"]: finding["message"] for finding in findings}
    untold = {finding["fingerprint"] for finding in findings if finding["because"] is None}
    names = {editor.uri(name): name for finding in findings for name in _files(finding)}
    elsewhere = {finding["fingerprint"] for finding in findings if finding["file"] != file}
    rows = []
    for each in diagnostics:
        mark = each.data["fingerprint"]
        causes: list[Row] = []
        for number, info in enumerate(each.related_information or ()):
            words = None if mark in elsewhere and number == 0 else info.message
            causes.append((names.get(info.location.uri), *_place_shown(info.location.range), words))
        causes = causes[:0] if mark in untold else causes
        words = message.get(mark, "")
        here = None if mark in elsewhere else (file, *_place_shown(each.range))
        said = words if words in each.message else each.message
        rows.append((each.code, int(each.severity or 0), here, said, tuple(causes)))
    return sorted(rows, key=repr)


def _files(finding: dict[str, Any]) -> list[str]:
    return [finding["file"], *(cause["file"] for cause in finding["because"] or ())]


def _place_shown(place: types.Range) -> Row:
    return place.start.line, place.start.character, place.end.line, place.end.character


def compare(folder: Path, names: list[str]) -> int:
    """Hold what is shown of files, one after the other, against what a check finds in them; how much that was."""
    found = {name: each_by_itself(checked(folder, name)) for name in names}

    async def work(editor: Editor) -> None:
        for name, findings in found.items():
            editor.open(name)
            diagnostics = await editor.diagnostics(name)
            assert shown(editor, diagnostics, findings, name) == told(findings, name), name
            editor.close(name)

    edit(folder, work, encodings=["utf-32"])
    return sum(map(len, found.values()))


def test_all_samples_show_what_a_check_finds(works: Path) -> None:
    """Every rig, blueprint, catalogue of the works, one after the other."""
    names = sorted(path.relative_to(works).as_posix() for path in works.rglob("*.yaml"))
    assert len(names) > 20
    assert compare(works, names) > 20


def test_twins_and_seeded_rigs_show_what_a_check_finds(tmp_path: Path) -> None:
    """Each twin of each rule, and generated rigs with a fault put into five of six."""
    (tmp_path / ".git").mkdir()
    names: list[str] = []
    for path in sorted(TWINS.rglob("*.yaml")):
        name = path.relative_to(TWINS).as_posix()
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_bytes(path.read_bytes())
        if not name.endswith("policy.yaml"):
            names.append(name)
    for seed in range(SEEDS):
        made = make_rig(seed, 12)
        folder = tmp_path / f"seeded-{seed}"
        folder.mkdir()
        (folder / made.catalogue).write_text(made.catalogue_text, "utf-8")
        (folder / "a.rig.yaml").write_text(SPOILT[seed % len(SPOILT)](made.text), "utf-8")
        names.append(f"seeded-{seed}/a.rig.yaml")
    assert compare(tmp_path, names) > 60

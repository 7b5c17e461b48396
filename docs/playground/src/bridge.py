"""What the page asks of lineshaft: texts in, and what the commands write out of them, in a folder of their own."""

import io
import json
import os
import re
import sys
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from building import NOTHING_OFFERED, edits_that_add, edits_that_change, edits_that_feed, offers_of

from lineshaft import cli
from lineshaft.api import Edit, Judgement, Measure, OpenFiles, SolvedRig, over, power, speed, torque
from lineshaft.language_server.figures import loads, parts_written_in, percent, rate_words
from lineshaft.schema.text.span import Span
from lineshaft.write.shown_units import measure

_DRAWN = (".rig.yaml", ".rig.yml", ".blueprint.yaml", ".blueprint.yml")


class Works:
    """The texts of the page as files in one folder, which is the repository's root and the working folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.texts: dict[str, str] = {}
        self.open = OpenFiles(folder)
        (folder / ".git").mkdir(parents=True, exist_ok=True)  # a root, as of a repository

    def take(self, texts: Mapping[str, str]) -> None:
        """Have these files and no others. Raises ValueError for a name that leads out of the folder."""
        for name in texts:
            _check_name(name)
        for name in self.texts.keys() - texts.keys():
            (self.folder / name).unlink()
        for name, text in texts.items():
            if self.texts.get(name) != text:
                path = self.folder / name
                path.parent.mkdir(parents=True, exist_ok=True)
                path.write_bytes(text.encode("utf-8", "surrogatepass"))
        self.texts = dict(texts)

    def run(self, *words: str) -> dict[str, Any]:
        """One command in the folder: its exit code, and what it writes to both streams."""
        streams = [io.TextIOWrapper(io.BytesIO(), "utf-8", newline="") for _ in range(2)]
        before, were = Path.cwd(), (sys.stdout, sys.stderr)
        os.chdir(self.folder)
        sys.stdout, sys.stderr = streams
        try:
            code = cli.run(list(words))
        finally:
            sys.stdout, sys.stderr = were
            os.chdir(before)
        for stream in streams:
            stream.flush()
        out, err = (stream.buffer.getvalue().decode("utf-8") for stream in streams)  # type: ignore[attr-defined]
        return {"code": code, "out": out, "err": err}

    def judged(self, day: str, *, repairs: bool) -> dict[str, Any]:
        """All files judged: the document of `check --write json=-`, or what it says where there is none."""
        words = ["check", "--no-cache", "--jobs", "1", "--date", day, "--write", "json=-", "."]
        ran = self.run(*words, *(() if repairs else ("--no-repairs",)))
        return {"code": ran["code"], "err": ran["err"], "document": json.loads(ran["out"]) if ran["out"] else None}

    def shown(self, name: str, day: str) -> dict[str, Any]:
        """The drawing of one rig or blueprint, empty where it cannot be drawn, and the figures of its parts."""
        if not name.endswith(_DRAWN):
            return {"drawing": "", "figures": [], "offers": NOTHING_OFFERED}
        drawing = self.run("draw", "--date", day, name)
        judgement = self.judgement(name)
        return {
            "drawing": drawing["out"] if drawing["code"] == 0 else "",
            "figures": list(figures_of(judgement)),
            "offers": offers_of(judgement),
        }

    def judgement(self, name: str) -> Judgement:
        """The verdict on one file with the rig that it is about."""
        return self.open.judge(self.folder / name, {})

    def begun(self, kind: str, name: str) -> dict[str, Any]:
        """The text of a first file of a kind, or what stands against it; the page keeps it."""
        try:
            _check_name(name)
        except ValueError as error:
            return {"refused": str(error)}
        if name in self.texts:
            return {"refused": f"there is a file {name} already"}
        ran = self.run("new", kind, name)
        made = self.folder / name
        if ran["code"] != 0 or not made.is_file():
            return {"refused": ran["err"].strip() or ran["out"].strip()}
        text = made.read_bytes().decode("utf-8")
        made.unlink()
        return {"text": text}

    def built(self, name: str, part: str, settings: Mapping[str, str], way: str) -> dict[str, Any]:
        """The edits that `add` a part, `change` one or `feed` a placed blueprint; or what stands against it."""
        edits = {"add": edits_that_add, "change": edits_that_change, "feed": edits_that_feed}[way]
        try:
            return {"edits": [_edit(edit) for edit in edits(self.judgement(name), part, settings)]}
        except ValueError as error:
            return {"refused": str(error)}


def _check_name(name: str) -> None:
    if not re.fullmatch(r"[^/\\:\0]+(/[^/\\:\0]+)*", name) or {".", "..", ".git"} & set(name.split("/")):
        raise ValueError(f"{name!r} is no name for a file here")


def _edit(edit: Edit) -> dict[str, Any]:
    return {"file": edit.file, "text": edit.text, **_place(edit.span)}


def _place(span: Span) -> dict[str, Any]:
    (line, column), (end_line, end_column) = span
    return {"start": {"line": line, "column": column}, "end": {"line": end_line, "column": end_column}}


def figures_of(judgement: Judgement) -> Iterator[dict[str, Any]]:
    """Each part that the file itself writes: its place, what arrives and leaves, and its limits."""
    if judgement.inspected is None:
        return
    rig = judgement.inspected.rig
    for number, part in parts_written_in(rig, judgement.file):
        place = _place(part.tree.key_span(part.route))
        yield {"name": part.name, "item": part.item.name, "kind": part.item.kind, **place, **_load(rig, number)}


def _load(rig: SolvedRig, number: int) -> dict[str, Any]:
    flows, part = rig.flows, rig.parts[number]
    if not flows.solved[number]:
        return {"solved": False}
    inlet = (torque(flows.torque_in[number]), speed(flows.speed_in[number]))
    outlet = (torque(flows.torque_out[number]), speed(flows.speed_out[number]))
    through = max(flows.torque_in[number] * flows.speed_in[number], flows.passed[number] * flows.speed_out[number])
    limits = [
        {"of": each.of, "limit": measure(each.limit), "share": percent(each.share), "over": over(each.share, 1.0)}
        for each in loads(rig, number)
    ]
    return {
        "solved": True,
        "in": _pair(inlet) if part.inlets else None,
        "out": _pair(outlet) if part.item.kind != "driven-machine" else None,
        "power": measure(power(through)),
        "limits": limits,
        "rate": rate_words(rig, number),
    }


def _pair(values: tuple[Measure, Measure]) -> str:
    return " at ".join(measure(value) for value in values)


def answered(works: Works, asked: str) -> str:
    """The answer to one question, both as JSON."""
    question = json.loads(asked)
    operation, arguments = question["operation"], question.get("arguments", {})
    works.take(question["files"])
    answers = {
        "run": lambda words: works.run(*words),
        "judge": lambda day, repairs: works.judged(day, repairs=repairs),
        "show": works.shown,
        "build": works.built,
        "begin": works.begun,
    }
    return json.dumps(answers[operation](**arguments), ensure_ascii=True)

"""The first file of a kind: a small commented text, fitted to the catalogue that stands at the place it goes to."""

import json
import os
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Final, NamedTuple

from lineshaft.documentation import schema_line
from lineshaft.schema.model.catalogue import Catalogue
from lineshaft.schema.text.scalar_text import scalar_text
from lineshaft.schema.text.windows import shown_path

FILES: Final = Path(__file__).parent / "files"


class Kind(NamedTuple):
    """A kind of first file: its text in `files/`, what it is called where no name is given, and how its name ends."""

    text: str
    name: str
    ending: str


KINDS: Final = {
    "rig": Kind("first.rig.yaml", "first.rig.yaml", ".rig.yaml"),
    "catalogue": Kind("works.catalogue.yaml", "works.catalogue.yaml", ".catalogue.yaml"),
    "blueprint": Kind("leg.blueprint.yaml", "leg.blueprint.yaml", ".blueprint.yaml"),
    "policy": Kind("lineshaft.policy.yaml", "lineshaft.policy.yaml", "lineshaft.policy.yaml"),
    "stock": Kind("yard.stock.yaml", "yard.stock.yaml", ".stock.yaml"),
    "hook": Kind("pre-commit-config.yaml", ".pre-commit-config.yaml", ".pre-commit-config.yaml"),
    "ci": Kind("rigs.yml", ".github/workflows/rigs.yml", ".yml"),
}
"""By the word that `lineshaft new` takes."""


def target(kind: str, given: str) -> Path | None:
    """Where the file goes: a folder takes the usual name, a name without an ending gets it; none where it is wrong."""
    path, known = Path(given), KINDS[kind]
    if path.is_dir() or given.endswith(("/", os.sep)):
        return path / known.name
    if path.name.endswith((known.ending, known.ending.removesuffix(".yaml") + ".yml")):
        return path
    if "." not in path.name and kind in ("rig", "catalogue", "blueprint", "stock"):
        return path.with_name(path.name + known.ending)
    return None


def first_text(kind: str, path: Path) -> str:
    """The text of a kind that hangs on no catalogue; `ci` for the system that a path of that name belongs to."""
    name = "gitlab-ci.yml" if kind == "ci" and "gitlab" in path.name else KINDS[kind].text
    return schema_line(kind) + (FILES / name).read_text("utf-8")


def fitted_texts(kind: str, path: Path, catalogue: Catalogue) -> Iterator[str]:
    """Texts for a rig or blueprint by a catalogue, the usual one first; whoever asks takes the first that holds."""
    usual = _by(first_text(kind, path), path, catalogue)
    yield usual
    if kind == "rig":
        from lineshaft.starters.composition import part_lines

        for lines in part_lines(catalogue):
            yield _with_parts(usual, lines)


def policy_text(path: Path, catalogue: Path | None) -> str:
    """The first policy; its catalogue is named where there is one."""
    text = first_text("policy", path)
    if catalogue is None:
        return text
    was = "# catalogue: works.catalogue.yaml   #"
    return text.replace(was, f"catalogue: {_reference(path, catalogue)}   #")


def stock_text(path: Path, catalogue: Catalogue) -> str:
    """The first stock by a catalogue: some of its own goods, and one of its stages."""
    text = first_text("stock", path)
    text = text.replace("catalogue: works.catalogue.yaml", f"catalogue: {_reference(path, catalogue.tree.source.path)}")
    goods = list(catalogue.raw)[:2]
    stage = next((item for item in catalogue.items.values() if item.kind == "gear-stage" and item.ratios), None)
    head, rest = text[: text.index("goods:")], text[text.index("goods:") :].splitlines()
    lines = [f"  {scalar_text(name)}: {number}" for name, number in zip(goods, (30, 25), strict=False)]
    block = [rest[0], *lines] if lines else []
    if stage is not None:
        grade = f", grade: {scalar_text(stage.grades[0])}" if stage.chooses_grade else ""
        entry = f"  - {{item: {scalar_text(stage.name)}, ratio: {stage.ratios[0].ratio.text}{grade}, count: 1}}"
        block += ["", next(line for line in rest if line.startswith("items:")), entry]
    return head + "\n".join(block).lstrip("\n") + "\n"


def named_catalogue(path: Path, catalogue: Catalogue) -> str:
    """The lines that name a catalogue in a file at a path."""
    reference = _reference(path, catalogue.tree.source.path)
    return f"catalogue: {reference}\nedition: {json.dumps(catalogue.edition, ensure_ascii=False)}\n"


def _by(text: str, path: Path, catalogue: Catalogue) -> str:
    return text.replace('catalogue: works.catalogue.yaml\nedition: "1"\n', named_catalogue(path, catalogue))


def _reference(path: Path, catalogue: Path) -> str:
    written = shown_path(catalogue, path.parent.resolve())
    return written if re.fullmatch(r"[A-Za-z0-9_./-]+", written) else json.dumps(written, ensure_ascii=False)


def _with_parts(usual: str, lines: tuple[str, ...]) -> str:
    """The usual rig with other parts; what is said of a stage that is not there goes with it."""
    head = usual[: usual.index("parts:")].replace("name: First saw", "name: First rig")
    return head + "\n".join(lines) + "\n"

"""The pages that are made from the code: rules, commands, kinds of file, and what is written as JSON.

    python docs/reference_pages.py FOLDER

``FOLDER`` is where the other pages stand; it gets `rules/`, `reference/` and `extra/schema/`. To be run in the root of
the repository, with the `lineshaft` that is to be described.
"""

import contextlib
import io
import json
import re
import sys
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import click

from lineshaft import cli
from lineshaft.check.registry import complete_registry
from lineshaft.check.rule import Rule
from lineshaft.check.rulebook import load_rule
from lineshaft.commands.schema import KINDS
from lineshaft.schema.validation.any_kind import any_kind_schema
from lineshaft.schema.validation.schemas import schema_text

TWINS = Path("tests", "rules")
FILES = ("rig", "blueprint", "catalogue", "policy", "stock", "snags")
WRITTEN = tuple(kind for kind in KINDS if kind not in (*FILES, "any"))


def run(*words: str) -> str:
    """What a command writes to stdout; whatever its exit code."""
    shown = io.StringIO()
    with contextlib.redirect_stdout(shown), contextlib.redirect_stderr(io.StringIO()):
        cli.run(list(words))
    return shown.getvalue()


def block(language: str, text: str) -> str:
    """A fenced block that holds whatever stands in the text."""
    fence = "`" * max([3, *(len(found) + 1 for found in re.findall("`{3,}", text))])
    return f"{fence}{language}\n{text.rstrip()}\n{fence}\n"


def rule_page(rule: Rule) -> str:
    """What the rule says of itself, the file that breaks it, what is found and mends it, and the twin that holds."""
    first, *others = re.split(r"\n\n+", rule.page.strip())
    page = [f"# {rule.id}", f"{first} By default it is of the level **{rule.level}**."]
    for paragraph in others:
        head, colon, text = paragraph.partition(": ")
        is_headed = bool(colon) and re.fullmatch(r"[A-Z][a-z ]+", head) is not None
        page += [f"## {head}", text[:1].upper() + text[1:]] if is_headed else [paragraph]
    breaks, holds = (next(iter(sorted((TWINS / rule.id).glob(f"{name}.*.yaml")))) for name in ("breaks", "holds"))
    page += ["## A file that breaks it", block("yaml", breaks.read_text("utf-8"))]
    shown = ["check", "--no-cache", "--color", "never", "--date", "2026-11-25", breaks.as_posix()]
    page += ["`lineshaft check` says of it, with each repair that is proved:", block("text", run(*shown))]
    page += ["## Its twin holds", block("yaml", holds.read_text("utf-8"))]
    return "\n\n".join(page) + "\n"


def rules() -> Iterator[tuple[str, str]]:
    """The page of each rule and their list, by path."""
    loaded = [load_rule(entry) for entry in complete_registry().rules]
    known = sorted((rule for rule in loaded if isinstance(rule, Rule)), key=lambda rule: rule.id)
    for rule in known:
        yield f"rules/{rule.id}.md", rule_page(rule)
    rows = [f"| [{rule.id}]({rule.id}.md) | {rule.level} | {first_line(rule)} |" for rule in known]
    tree = block("{toctree}", ":hidden:\n\n" + "\n".join(rule.id for rule in known))
    text = "Each with its bad and its good file. A policy sets another level, or `off`."
    table = "\n".join(["| rule | level | what |", "| --- | --- | --- |", *rows])
    yield "rules/index.md", f"# Rules\n\n{text}\n\n{table}\n\n{tree}"


def first_line(rule: Rule) -> str:
    """A rule in one sentence."""
    return rule.page.strip().split("\n", 1)[0]


def commands() -> str:
    """Every command with its help."""
    with click.Context(cli.cli, info_name="lineshaft", max_content_width=100, **cli.cli.context_settings) as top:
        page = ["# Commands", "What `--help` says of each.", block("text", cli.cli.get_help(top))]
        for name, what in cli.COMMANDS.items():
            found = cli.cli.get_command(top, name)
            assert found is not None
            page += [f"## lineshaft {name}", what]
            with click.Context(found, info_name=name, parent=top, max_content_width=100) as inside:
                page.append(block("text", found.get_help(inside)))
                for inner, one in getattr(found, "commands", {}).items():
                    with click.Context(one, info_name=inner, parent=inside, max_content_width=100) as innermost:
                        page += [f"### lineshaft {name} {inner}", block("text", one.get_help(innermost))]
    return "\n\n".join(page) + "\n"


def cell(text: object) -> str:
    """Text for a cell of a table."""
    return re.sub(r"\s+", " ", str(text)).replace("|", "\\|").replace("<", "&lt;")


def type_of(schema: Mapping[str, Any]) -> str:
    """What may be written, in a few words."""
    if "$ref" in schema:
        return str(schema["$ref"].rpartition("/")[2])
    if "const" in schema:
        return f"`{schema['const']}`"
    if "enum" in schema:
        return ", ".join(f"`{word}`" for word in schema["enum"])
    words = schema.get("type", "any")
    shown = words if isinstance(words, str) else " or ".join(words)
    inner = schema.get({"array": "items", "object": "additionalProperties"}.get(shown, ""))
    return f"{shown} of {type_of(inner)}" if isinstance(inner, dict) and inner else shown


def table(schema: Mapping[str, Any]) -> str:
    """The keys of an object: what each is, what may be written, whether it has to be there, and an example."""
    rows = ["| key | what | takes | for instance |", "| --- | --- | --- | --- |"]
    for key, one in schema["properties"].items():
        must = " (required)" if key in schema.get("required", ()) else ""
        examples = one.get("examples", [])
        example = f"`{cell(json.dumps(examples[0], ensure_ascii=False))}`" if examples else ""
        rows.append(f"| `{cell(key)}`{must} | {cell(one.get('description', ''))} | {cell(type_of(one))} | {example} |")
    return "\n".join(rows)


def schema_page(title: str, kinds: tuple[str, ...], text: str) -> str:
    """Some schemas, key by key."""
    page = [f"# {title}", text]
    for kind in kinds:
        whole = json.loads(schema_text(kind))
        page += [f"## {kind}", f"{whole['description']} The schema: `lineshaft schema {kind}`.", table(whole)]
        for name, one in whole.get("$defs", {}).items():
            if "properties" in one:
                page += [f"### {kind}: {name}", str(one.get("description", "")), table(one)]
    return "\n\n".join(page) + "\n"


def pages() -> Iterator[tuple[str, str]]:
    """Every page that is made, by path."""
    yield from rules()
    yield "reference/commands.md", commands()
    text = "One schema for a file of any kind is `lineshaft schema any`: the first key of a file says what kind it is."
    yield "reference/files.md", schema_page("Kinds of file, key by key", FILES, text)
    text = "JSON and CSV are in SI units whatever `--units` says. Keys may be added; none goes or changes its meaning."
    yield "reference/formats.md", schema_page("What is written as JSON", WRITTEN, text)
    units = block("text", run("units", "--color", "never"))
    yield "reference/units.md", f"# Quantities and units\n\nWhat `lineshaft units` shows.\n\n{units}"
    for kind in KINDS:
        text = json.dumps(any_kind_schema(), indent=2) + "\n" if kind == "any" else schema_text(kind)
        yield f"extra/schema/{kind}.schema.json", text


def main(folder: Path) -> None:
    """Write them."""
    for path, text in pages():
        target = folder / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_text(text, "utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]))

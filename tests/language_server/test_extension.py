"""The extension for Visual Studio Code, as its files tell of it; `npm run package` checks and builds the rest."""

import json
import re
from pathlib import Path
from typing import Any

from command_runner import run

ROOT = Path(__file__).resolve().parents[2]
EXTENSION = ROOT / "editors" / "vscode"


def _manifest() -> dict[str, Any]:
    found: dict[str, Any] = json.loads((EXTENSION / "package.json").read_text("utf-8"))
    return found


def test_no_server_starts_in_a_workspace_that_is_not_trusted() -> None:
    """The editor is told so, and the code asks once more before it starts one."""
    assert _manifest()["capabilities"]["untrustedWorkspaces"]["supported"] is False
    start = (EXTENSION / "src/extension.ts").read_text("utf-8").split("async function start()")[1]
    assert start.index("isTrusted") < start.index("clientOf(")


def test_a_workspace_cannot_say_which_program_runs() -> None:
    """The path is a setting of the machine, and no other setting names a program."""
    settings = _manifest()["contributes"]["configuration"]["properties"]
    assert settings["lineshaft.lspPath"]["scope"] == "machine"
    assert set(settings) == {"lineshaft.units", "lineshaft.lspPath", "lineshaft.drawingFollows"}


def test_every_setting_and_command_is_told_of_in_its_readme() -> None:
    """By its name, or by its title."""
    told = (EXTENSION / "README.md").read_text("utf-8").replace("\n", " ")
    contributes = _manifest()["contributes"]
    assert all(f"`{name}`" in told for name in contributes["configuration"]["properties"])
    assert all(command["title"] in told for command in contributes["commands"])


def test_its_schemas_are_those_of_the_repository() -> None:
    """The build copies them; each kind that it names is there, and its licence and version are the program's."""
    manifest = _manifest()
    for entry in manifest["contributes"]["yamlValidation"]:
        assert (ROOT / "schema" / Path(entry["url"]).name).is_file()
    assert (ROOT / "LICENSE").is_file()
    assert f'version = "{manifest["version"]}"' in (ROOT / "pyproject.toml").read_text("utf-8")


def _filled(body: list[str]) -> str:
    """A snippet with its first choices and defaults in place."""
    text = "\n".join(body).replace("$0", "")
    text = re.sub(r"\$\{\d+\|([^,|]*)[^}]*\|\}", r"\1", text)
    return re.sub(r"\$\{\d+:([^{}]*)\}", r"\1", text)


def test_its_snippets_are_rigs_that_can_be_read(works: Path) -> None:
    """Each with its defaults, on the samples' catalogue: nothing about form, quantities or what items offer."""
    snippets = json.loads((EXTENSION / "snippets/rigs.json").read_text("utf-8"))
    rig = _filled(snippets["A rig"]["body"]).replace("works.catalogue", "tern-harbour.catalogue")
    texts = [rig]
    for name, snippet in snippets.items():
        if name == "A blueprint put in place":
            placed = _filled(snippet["body"]).replace("blueprints/leg.", "blueprints/stone-leg.")
            texts.append(f"rig: 1\ncatalogue: catalogues/tern-harbour.catalogue.yaml\nparts:\n"
                         f"  wheel: {{item: creek-wheel}}\n  {placed}\n")
        elif name != "A rig":
            texts.append(rig + _filled(snippet["body"]))
    assert len(texts) == 5
    form = {"not-yaml", "not-schema", "bad-quantity", "not-offered", "unknown-reference", "internal-error"}
    for text in texts:
        (works / "snippet.rig.yaml").write_text(text, "utf-8")
        ran = run(works, "check", "--no-cache", "--no-repairs", "--write", "json=-", "snippet.rig.yaml")
        assert not form & {finding["rule"] for finding in json.loads(ran.stdout)["findings"]}, text

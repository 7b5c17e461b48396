"""A command, option, rule or kind that does not exist is told with the nearest that does; every help has an example."""

import shlex
import shutil
from importlib import import_module
from pathlib import Path

import click
import pytest
from command_runner import run

from lineshaft.cli import COMMANDS, EXAMPLES
from lineshaft.schema.text.nearest import likely

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.parametrize(
    ("asked", "named"),
    [
        (("chek", "."), "lineshaft check"),
        (("comission",), "lineshaft commission"),
        (("explain", "torque"), "torque-over-limit"),
        (("explain", "torque-ovr-limit"), "torque-over-limit"),
        (("check", "--unit", "rpm"), "--units"),
        (("trace", "--helpp"), "--help"),
        (("schema", "catalog"), "catalogue"),
        (("items", "--kind", "gear"), "gear-stage"),
        (("items", "--kind", "drivenmachine"), "driven-machine"),
        (("repair", "a.rig.yaml", "--up-to", "settng"), "setting"),
        (("check", "--fail-on", "eror"), "error"),
        (("check", "--units", "rmp"), "rpm"),
        (("check", "--write", "jsn=-"), "json"),
    ],
    ids=str,
)
def test_the_nearest_name_is_told(asked: tuple[str, ...], named: str) -> None:
    """Exit 2, one line, and the word that was meant stands in it."""
    ran = run(ROOT, *asked)
    assert ran.returncode == 2
    assert f"did you mean `{named}`?" in ran.stderr or f"did you mean {named}?" in ran.stderr
    assert len(ran.stderr.splitlines()) == 1


@pytest.mark.parametrize(
    ("asked", "listed"),
    [
        (("polish",), "lineshaft --help"),
        (("check", "--gilded"), "lineshaft check --help"),
        (("explain", "gilding"), "lineshaft rules"),
        (("schema", "gilding"), "blueprint"),
    ],
    ids=str,
)
def test_where_nothing_is_near_it_is_said_where_all_are_listed(asked: tuple[str, ...], listed: str) -> None:
    """No far-fetched guess."""
    ran = run(ROOT, *asked)
    assert ran.returncode == 2
    assert "did you mean" not in ran.stderr
    assert listed in ran.stderr


def test_a_word_of_a_long_name_is_enough() -> None:
    """By hand: both names have a word that begins with `lubric`, the third has not."""
    names = ("lubricant-loop", "drive-loop", "lubricant-missing")
    assert likely("lubric", names) == ("lubricant-loop", "lubricant-missing")
    assert likely("lo", names) == ()


def _all_commands() -> list[str]:
    names = []
    for name in COMMANDS:
        command = import_module(f"lineshaft.commands.{name}").command
        names.append(name)
        if isinstance(command, click.Group):
            names += [f"{name} {inner}" for inner in command.commands]
    return names


@pytest.mark.parametrize("name", _all_commands())
def test_every_help_ends_with_an_example_of_that_command(name: str) -> None:
    """On a line of its own, not wrapped, so that it can be copied."""
    last = run(ROOT, *name.split(), "--help").stdout.rstrip().splitlines()[-1]
    assert last.strip() == EXAMPLES[name]
    assert shlex.split(EXAMPLES[name])[1 : 1 + len(name.split())] == name.split()


@pytest.mark.parametrize("name", sorted(EXAMPLES.keys() - {"impact", "rules test"}))
def test_the_examples_run_in_a_clone(name: str, tmp_path: Path) -> None:
    """None is a usage error or names what is not there; what they write stays out of the tree."""
    shutil.copytree(ROOT / "sample_rigs", tmp_path / "sample_rigs")
    ran = run(tmp_path, *shlex.split(EXAMPLES[name])[1:])
    assert ran.returncode in (0, 1), ran.stderr
    assert "lineshaft:" not in ran.stderr


def test_the_help_of_check_says_how_a_report_is_made() -> None:
    """A report is one of the formats, which nobody guesses."""
    assert "--write html=FILE" in run(ROOT, "check", "--help").stdout

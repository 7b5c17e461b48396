"""`lineshaft trace`: the table, the chain with its running ratio, the lubricant accounts; values by hand."""

from pathlib import Path

from click.testing import CliRunner

from lineshaft.commands.trace import command

SAMPLES = Path(__file__).resolve().parents[2] / "sample_rigs"


def _rows(*arguments: str) -> dict[str, str]:
    ran = CliRunner().invoke(command, list(arguments), standalone_mode=False)
    assert ran.exception is None
    return {line.split()[0]: line for line in ran.output.splitlines() if line.strip()}


def test_the_table_shows_what_leaves_each_part() -> None:
    """900 N·m at 8 rad/s is 7.2 kW; 5/2 increasing at 96 % gives 345.6 N·m at 20 rad/s, 6.912 kW; iron carries 75 %."""
    rows = _rows(str(SAMPLES / "small-saw.rig.yaml"))
    assert all(text in rows["wheel"] for text in ("900 N·m", "8 rad/s", "7.2 kW"))
    assert all(text in rows["step"] for text in ("345.6 N·m", "20 rad/s", "6.912 kW", "75 %"))


def test_the_chain_multiplies_the_ratios() -> None:
    """From the stage on the line is geared up 5/2; before it 1 : 1. 20 rad/s is 191 turns a minute."""
    rows = _rows(str(SAMPLES / "small-saw.rig.yaml"), "saw", "--units", "rpm")
    assert "1 : 1" in rows["lay"]
    assert "increases 5/2 : 1" in rows["saw"]
    assert "191 rpm" in rows["saw"]


def test_a_share_says_what_it_is_of_and_shows_what_is_not_on_the_row() -> None:
    """The stage hands 345.6 N·m on, but 900 arrive of the 1,200 it may carry; the saw turns at 20 of 120 rad/s.

    The saw's share of 2 kN·m is 345.6/2000 = 17.28 %, more than 16.67 % of its speed.
    """
    rows = _rows(str(SAMPLES / "small-saw.rig.yaml"))
    assert rows["step"].rstrip().endswith("75 % torque, 900 N·m in")
    assert rows["saw"].rstrip().endswith("17.28 % torque")
    assert rows["wheel"].rstrip().endswith("no limit")


def test_the_chain_shows_the_outlet_of_a_splitter_that_leads_there() -> None:
    """900 N·m divided 2 : 3: 360 go to the saw, 540 to the pump; the table shows the larger of the two."""
    sample = str(SAMPLES / "slow-saw.rig.yaml")
    assert "360 N·m" in _rows(sample, "saw")["divide"]
    assert "2.88 kW" in _rows(sample, "saw")["divide"]
    assert "540 N·m" in _rows(sample, "pump")["divide"]
    assert "540 N·m" in _rows(sample)["divide"]


def test_lubricant_accounts() -> None:
    """3 mL/s made, 0.2 mL/s used; 1 L alone lasts 5,000 s, which is 1 h 23 min."""
    row = _rows(str(SAMPLES / "charged-press.rig.yaml"), "--lubricant")["flax"]
    assert all(text in row for text in ("1 L", "3 mL/s", "0.2 mL/s", "2.8 mL/s", "does not run dry", "1 h 23 min"))


def test_an_unknown_part_names_the_nearest() -> None:
    """`swa` is not there; `saw` is near."""
    ran = CliRunner().invoke(command, [str(SAMPLES / "small-saw.rig.yaml"), "swa"], standalone_mode=False)
    assert "did you mean saw?" in str(ran.exception)

"""``lineshaft units``: what may be written for each quantity."""

import click

from lineshaft.commands.options import color_option
from lineshaft.commands.output import page
from lineshaft.exits import Exit
from lineshaft.schema.quantities.units import LISTED, QuantityKind, Unit
from lineshaft.write.table import table

_WRITTEN_FOR: dict[QuantityKind, str] = {
    "torque": "900 N*m",
    "speed": "8 rad/s",
    "power": "7.2 kW",
    "volume": "6 L",
    "flow": "0.3 mL/s",
    "time": "90 s",
    "length": "3.5 m",
    "stress": "41 MPa",
    "density": "1000 kg/m^3",
    "share": "80 %",
}
_PLAIN = (
    ("share, tolerance", "%, or a plain number", "80 %, 0.8"),
    ("ratio", "none: a number of 1 or more, or teeth driven/driver", "5/2, 2.5, 75/15"),
    ("weights of shares", "none: numbers above 0", "3"),
)

_TOLD = (
    "A unit with (+) takes prefixes: m, c, k, M and the rarer ones, as in kN*m or mL.",
    "N*m may also be written N·m, N m or Nm; m^3 as m³.",
    "Write a decimal point, and no separator of thousands: 1.5 kN*m, 1200 N*m.",
)


@click.command("units")
@click.option("--debug", is_flag=True, hidden=True)
@color_option
def command(debug: bool) -> int:
    """What may be written for each quantity: a number, then one of its units."""
    rows = [
        (kind, ", ".join(_shown(unit) for unit in units), _WRITTEN_FOR[kind])
        for kind, units in LISTED.items()
        if kind != "share"
    ]
    on = page()
    click.echo(table(("quantity", "units", "for instance"), [*rows, *_PLAIN], frozenset(), on))
    for told in _TOLD:
        click.echo(on.paragraph(told), nl=False)
    return Exit.CLEAN


def _shown(unit: Unit) -> str:
    return f"{unit.symbol} (+)" if unit.prefixed else unit.symbol

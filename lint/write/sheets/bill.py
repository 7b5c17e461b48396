"""The bill of materials of a rig, as a table, CSV or JSON."""

import csv
import io
import json
from collections.abc import Callable, Mapping

from lineshaft import __version__
from lineshaft.bill_of_materials import Bill, worth_of
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.write.escape import spreadsheet_cell
from lineshaft.write.shown_units import as_written, figures
from lineshaft.write.table import table

FORMAT = "lineshaft-bill/1"


def bill_text(rig: SolvedRig, found: Bill) -> str:
    """Raw goods with their worth, then the components with their makings, then the worth in all."""
    if not found.raw and not found.making:
        return "nothing to gather: no part has made-of\n"
    worth, components = rig.catalogue.raw, rig.catalogue.components
    goods = [[name, str(n), figures(worth[name]), figures(_worth(rig, name, n))] for name, n in found.raw]
    text = table(("raw good", "count", "worth each", "worth"), goods, frozenset({1, 2, 3}))
    if found.making:
        made = [
            [name, str(needed), str(makings), str(makings * components[name].yields - needed)]
            for name, needed, makings in found.making
        ]
        text += "\n" + table(("component", "needed", "makings", "left over"), made, frozenset({1, 2, 3}))
    return f"{text}\nworth {figures(found.worth)} in all\n"


def bill_csv(rig: SolvedRig, found: Bill) -> bytes:
    """One row a raw good and a component (RFC 4180). No cell can be taken for a formula by a spreadsheet."""
    page = io.StringIO(newline="")
    rows = csv.writer(page)
    rows.writerow(("kind", "name", "count", "makings", "worth"))
    for name, count in found.raw:
        rows.writerow(("raw", spreadsheet_cell(name), count, "", as_written(_worth(rig, name, count))))
    for name, needed, makings in found.making:
        rows.writerow(("component", spreadsheet_cell(name), needed, makings, ""))
    return page.getvalue().encode("utf-8")


def bill_json(rig: SolvedRig, found: Bill) -> bytes:
    """One document, UTF-8, ASCII only inside, so that no reader sees a raw control character."""
    components = rig.catalogue.components
    document = {
        "format": FORMAT,
        "version": __version__,
        "file": rig.file,
        "raw": [{"name": name, "count": n, "worth": _worth(rig, name, n)} for name, n in found.raw],
        "components": [
            {"name": name, "needed": needed, "makings": makings, "yields": components[name].yields}
            for name, needed, makings in found.making
        ],
        "worth": found.worth,
    }
    return (json.dumps(document, indent=2, allow_nan=False) + "\n").encode()


def _worth(rig: SolvedRig, good: str, count: int) -> float:
    return worth_of(((good, count),), rig.catalogue)


WRITERS: Mapping[str, Callable[[SolvedRig, Bill], bytes]] = {"csv": bill_csv, "json": bill_json}

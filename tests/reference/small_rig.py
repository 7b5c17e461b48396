"""A small rig from YAML text, written to a folder, loaded and solved by the program's own front door."""

from pathlib import Path

from lineshaft.schema.loading import Loader
from lineshaft.schema.text.repository import Repository
from lineshaft.solve.solved_rig import SolvedRig, solve_loaded


def solved(folder: Path, items: str, parts: str) -> SolvedRig:
    """The solved rig of ``items`` and ``parts``, one flow-style entry a line."""
    catalogue = f'catalogue: 1\nname: Bench\nedition: "1"\nitems:\n{_indented(items)}'
    rig = f'rig: 1\nname: Bench rig\ncatalogue: bench.catalogue.yaml\nedition: "1"\nparts:\n{_indented(parts)}'
    (folder / "bench.catalogue.yaml").write_text(catalogue, encoding="utf-8")
    path = folder / "bench.rig.yaml"
    path.write_text(rig, encoding="utf-8")
    loaded = Loader(Repository(folder.resolve(), folder.resolve())).rig(path)
    assert loaded.faults == (), [fault.message for fault in loaded.faults]
    return solve_loaded(loaded)


def torque_out(rig: SolvedRig, name: str) -> float:
    """Torque [N*m] at a part's outlet."""
    return rig.flows.torque_out[rig.rig.index[name]]


def torque_in(rig: SolvedRig, name: str) -> float:
    """Torque [N*m] at a part's inlet."""
    return rig.flows.torque_in[rig.rig.index[name]]


def speed_out(rig: SolvedRig, name: str) -> float:
    """Speed [rad/s] at a part's outlet."""
    return rig.flows.speed_out[rig.rig.index[name]]


def speed_in(rig: SolvedRig, name: str) -> float:
    """Speed [rad/s] at a part's inlet."""
    return rig.flows.speed_in[rig.rig.index[name]]


def _indented(text: str) -> str:
    return "".join(f"  {line.strip()}\n" for line in text.strip().splitlines())

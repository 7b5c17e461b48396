"""Two editions of a catalogue, by hand: what differs, and that undoing it leads back."""

from pathlib import Path

from lineshaft.changes.editions import changed_ratings, touching, undone
from lineshaft.schema.loading import Loader
from lineshaft.schema.model.catalogue import Catalogue
from lineshaft.schema.text.repository import Repository

SAMPLES = Path(__file__).resolve().parents[2] / "sample_rigs" / "catalogues"
_OLD = """\
catalogue: 1
name: Shop
edition: "1"
lubricants: [oil, fat]
grades:
  oak: {torque-limit: 100 N*m}
  tin: {torque-limit: 10 N*m}
items:
  wheel: {kind: prime-mover, output: {torque: 50 N*m, speed: 2 rad/s}, made-of: {plank: 2}}
  mill:
    kind: driven-machine
    needs: {torque: 5 N*m}
    work: {unit: sack, times: [[1 rad/s, 60 s], [2 rad/s, 30 s]], between: linear}
  stage: {kind: gear-stage, grade: oak, lubricant: {kind: oil, holds: 1 L, uses: 1 mL/s}, ratios: {5/2: {}, 3: {}}}
  shaft: {kind: shaft, grade: tin}
components: {cog: {made-of: {plank: 1}, yields: 2}}
raw: {plank: {worth: 1}}
"""
_NEW = (
    _OLD.replace('edition: "1"', 'edition: "2"')
    .replace("torque-limit: 100 N*m", "torque-limit: 0.12 kN*m, speed-limit: 9 rad/s")
    .replace("torque: 50 N*m, speed: 2 rad/s", "power: 100 W, speed: 2 rad/s")
    .replace("made-of: {plank: 2}}\n  mill", "made-of: {plank: 3}}\n  mill")
    .replace("[2 rad/s, 30 s]", "[2 rad/s, 20 s]")
    .replace("kind: oil, holds: 1 L", "kind: fat, holds: 2 L")
    .replace("{5/2: {}, 3: {}}", "{5/2: {}, 7: {}}")
    .replace("  shaft: {kind: shaft, grade: tin}\n", "  pole: {kind: shaft, grade: tin}\n")
    .replace("yields: 2", "yields: 4")
    .replace("worth: 1", "worth: 1.5")
)


def _read(folder: Path, name: str, text: str) -> Catalogue:
    path = folder / f"{name}.catalogue.yaml"
    path.write_text(text, encoding="utf-8")
    catalogue, faults = Loader(Repository(folder, folder)).catalogue(path)
    assert catalogue is not None and not faults
    return catalogue


def test_every_kind_of_rating(tmp_path: Path) -> None:
    """What was changed in the text above is found, and nothing else: 50 N·m at 2 rad/s are 100 W, the same output."""
    folder = tmp_path.resolve()
    found = changed_ratings(_read(folder, "old", _OLD), _read(folder, "new", _NEW))
    assert [(rating.words, rating.old, rating.new, rating.unit) for rating in found] == [
        ("oak torque limit", 100.0, 120.0, "N*m"),
        ("oak speed limit", None, 9.0, "rad/s"),
        ("wheel goods", "{plank: 2}", "{plank: 3}", ""),
        (
            "mill work table",
            "sack in 60 s at 1 rad/s, sack in 30 s at 2 rad/s, linear",
            "sack in 60 s at 1 rad/s, sack in 20 s at 2 rad/s, linear",
            "",
        ),
        ("stage ratios", "5/2, 3", "5/2, 7", ""),
        ("stage lubricant kind", "oil", "fat", ""),
        ("stage lubricant held", 1.0, 2.0, "L"),
        ("pole", "not there", "there", ""),
        ("shaft", "there", "not there", ""),
        ("cog yield", 2, 4, "1"),
        ("plank worth", 1.0, 1.5, "1"),
    ]


def test_undoing_all_leads_back(tmp_path: Path) -> None:
    """With every rating undone the new edition says what the old one says, and each undoing changes one thing."""
    folder = tmp_path.resolve()
    old, new = _read(folder, "old", _OLD), _read(folder, "new", _NEW)
    left = new
    for rating in changed_ratings(old, new):
        assert len(changed_ratings(old, undone(new, old, rating))) == len(changed_ratings(old, new)) - 1
        left = undone(left, old, rating)
    assert changed_ratings(old, left) == ()
    assert (left.grades, left.components, left.raw) == (old.grades, old.components, old.raw)
    assert dict(left.items) == dict(old.items)


def test_the_two_editions_of_the_samples() -> None:
    """Five ratings, as the two files print them."""
    loader = Loader(Repository(SAMPLES, SAMPLES))
    old, _ = loader.catalogue(SAMPLES / "tern-harbour-3.0.catalogue.yaml")
    new, _ = loader.catalogue(SAMPLES / "tern-harbour.catalogue.yaml")
    assert old is not None and new is not None
    found = changed_ratings(old, new)
    assert [(rating.words, rating.old, rating.new) for rating in found] == [
        ("cast-iron torque limit", 1000.0, 1200.0),
        ("cast-iron speed limit", 220.0, 250.0),
        ("forged-steel torque limit", 4500.0, 6000.0),
        ("tide-wheel torque", 15000.0, 18000.0),
        ("saw-frame torque need", 140.0, 150.0),
    ]
    assert touching(found, (), frozenset()) == ()

"""What the page loads beside its own code: the samples, lineshaft with what it stands on, and Python's library.

    python docs/playground/archives.py FOLDER PLAIN_FOLDER PYTHON_STDLIB.zip

writes samples.json, lineshaft.zip and python_stdlib.zip into FOLDER, the same bytes whenever that is.
"""

import json
import re
import sys
import zipfile
from pathlib import Path

UNUSED = {
    *("_pyrepl", "bdb", "cmd", "doctest", "ensurepip", "ftplib", "idlelib", "imaplib", "mailbox", "pdb", "poplib"),
    *("pydoc", "pydoc_data", "smtplib", "tkinter", "trace", "turtle", "turtledemo", "unittest", "wsgiref", "xmlrpc"),
}
CODINGS = {
    *("__init__", "aliases", "ascii", "charmap", "cp1252", "cp437"),
    *("idna", "latin_1", "punycode", "raw_unicode_escape"),
}
SOURCES = Path(__file__).with_name("src")
SAMPLES = Path(__file__).resolve().parents[2] / "sample_rigs"


def samples() -> list[dict[str, object]]:
    """Each sample rig by its name, with the files that it leads to."""
    found = []
    for path in sorted(SAMPLES.glob("*.rig.yaml")):
        files = {one.relative_to(SAMPLES).as_posix(): one.read_text("utf-8") for one in _with_others(path)}
        name = re.search(r"^name: *(.+)$", files[path.name], re.MULTILINE)
        found.append({"name": name[1].strip("\"'") if name else path.name, "files": files, "active": path.name})
    return found


def _with_others(path: Path) -> list[Path]:
    """A file, and what it names and what those name, each once."""
    found, left = [], [path]
    while left:
        one = left.pop()
        if one not in found and one.is_file():
            found.append(one)
            named = re.findall(r"[\w./-]+\.(?:catalogue|blueprint)\.ya?ml", one.read_text("utf-8"))
            left += [(one.parent / name).resolve() for name in named]
    return found


def lineshaft(folder: Path, target: Path) -> None:
    """The plain folder and the page's own modules, without metadata, tests, and what type checkers read."""
    found = {path.relative_to(folder).as_posix(): path for path in sorted(folder.rglob("*")) if path.is_file()}
    found |= {path.name: path for path in sorted(SOURCES.glob("*.py"))}
    _archive({name: path.read_bytes() for name, path in found.items() if _kept(name)}, target)


def _kept(name: str) -> bool:
    top = name.split("/")[0]
    metadata = top.endswith(".dist-info") and not top.startswith("lineshaft-")
    return not metadata and not name.startswith("pint/testsuite/") and not name.endswith((".pyi", ".typed"))


def library(source: Path, target: Path) -> None:
    """Python's own library without what needs a terminal, a mail server or a test, and without rare codings of text."""
    with zipfile.ZipFile(source) as whole:
        names = [name for name in whole.namelist() if not name.endswith("/")]
        kept = [name for name in names if name.split("/")[0].removesuffix(".py") not in UNUSED and not _rare(name)]
        _archive({name: whole.read(name) for name in kept}, target)


def _rare(name: str) -> bool:
    folder, _, coding = name.removesuffix(".py").rpartition("/")
    return folder == "encodings" and coding not in CODINGS and not coding.startswith(("utf_", "unicode_"))


def _archive(files: dict[str, bytes], target: Path) -> None:
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as packed:
        for name, content in files.items():
            packed.writestr(zipfile.ZipInfo(name, (2020, 2, 2, 0, 0, 0)), content, zipfile.ZIP_DEFLATED, 9)


if __name__ == "__main__":
    out, plain, stdlib = map(Path, sys.argv[1:])
    (out / "samples.json").write_text(json.dumps(samples(), ensure_ascii=False), "utf-8")
    lineshaft(plain, out / "lineshaft.zip")
    library(stdlib, out / "python_stdlib.zip")

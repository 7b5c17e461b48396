"""A folder with lineshaft and all that it stands on, without compiled code: it runs on any Python from 3.11 on.

    python .ci/release/plain_folder.py WHEEL FOLDER

What it stands on is locked, with hashes, in requirements-plain.txt. What is taken away (the compiled half of
MarkupSafe) has its Python half beside it. Nothing in the folder tells when or where it was made.
"""

import shutil
import subprocess
import sys
from pathlib import Path

LOCKED = Path(__file__).with_name("requirements-plain.txt")
COMPILED = ("*.so", "*.pyd", "*.dylib")
TRACES = ("__pycache__", "bin", "direct_url.json", "REQUESTED", "INSTALLER", "RECORD", "*.c")


def plain_folder(wheel: Path, folder: Path) -> None:
    """Fill ``folder``, which must not be there. Raises CalledProcessError where pip fails."""
    install = [sys.executable, "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "--no-deps"]
    install += ["--no-compile", "--target", str(folder)]
    subprocess.run([*install, "--require-hashes", "--requirement", str(LOCKED)], check=True)
    subprocess.run([*install, str(wheel)], check=True)
    for pattern in (*COMPILED, *TRACES):
        for path in list(folder.rglob(pattern)):
            if path.is_dir():
                shutil.rmtree(path)
            else:
                path.unlink()


if __name__ == "__main__":
    plain_folder(Path(sys.argv[1]), Path(sys.argv[2]))

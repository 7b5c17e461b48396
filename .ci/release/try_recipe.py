"""The container's recipe, followed and tried without a container engine: a root file system, entered with chroot.

    python .ci/release/try_recipe.py DIST [MIRROR]

DIST has what .ci/release/make wrote. Each line of the Containerfile is done as it stands there. Then its entry point
checks the samples, by the user and in the folder that the recipe names, without a network, and what it writes has to be
what lineshaft.pyz writes here, byte for byte. It wants root, Debian's debootstrap, and Debian's packages: from MIRROR,
or from where this machine has its own.
"""

import json
import os
import re
import shlex
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

PATHS = "/usr/local/bin:/usr/bin:/bin:/usr/sbin:/sbin"
RECIPE = Path(__file__).with_name("Containerfile")
SAMPLES = Path(__file__).resolve().parents[2] / "sample_rigs"
CHECK = ["check", "--no-cache", "--date", "2026-11-25", "--write", "json=-", "."]
NO_NETWORK = ("unshare", "--net")


def instructions(text: str) -> Iterator[tuple[str, str]]:
    """Each instruction of a recipe with what stands behind it; lines that go on are one."""
    lines = "\n".join(line for line in text.splitlines() if not line.startswith("#"))
    for line in re.sub(r"\\\n\s*", "", lines).splitlines():
        if line.strip():
            word, _, rest = line.partition(" ")
            yield word, rest.strip()


@dataclass(slots=True)
class Image:
    """What a recipe has made so far: a root file system, and how something is run in it."""

    root: Path
    context: Path
    mirror: str
    user: str = "root"
    folder: str = "/"
    environment: dict[str, str] = field(default_factory=lambda: {"PATH": PATHS})
    entry_point: list[str] = field(default_factory=list)

    def follow(self, word: str, rest: str) -> None:
        """Do one instruction. Raises ValueError for one that is not known here, CalledProcessError where it fails."""
        known = {
            "FROM": self._start,
            "RUN": lambda line: self.run("/bin/sh", "-c", line),
            "COPY": self._copy,
            "USER": lambda name: setattr(self, "user", name),
            "WORKDIR": self._enter,
            "ENV": lambda line: self.environment.update(one.split("=", 1) for one in shlex.split(line)),
            "ENTRYPOINT": lambda words: setattr(self, "entry_point", json.loads(words)),
            "CMD": lambda words: None,  # what is run where nothing is said
        }
        if word not in known:
            raise ValueError(f"this does not know what {word} is")
        known[word](rest)

    def run(self, *words: str, before: tuple[str, ...] = (), check: bool = True) -> subprocess.CompletedProcess[bytes]:
        """Run something in it, as its user and in its folder. Raises CalledProcessError where that fails, if asked."""
        home = {"HOME": "/root" if self.user == "root" else f"/home/{self.user}"}
        entered = ["chroot", f"--userspec={self.user}", str(self.root), "/bin/sh", "-c", 'cd "$0" && exec "$@"']
        print("  in it:", shlex.join(words)[:100], file=sys.stderr)  # noqa: T201
        return subprocess.run(
            [*before, *entered, self.folder, *words], check=check, env=self.environment | home, stdout=subprocess.PIPE
        )

    def _start(self, base: str) -> None:
        found = re.fullmatch(r"docker\.io/library/debian:(\w+)-slim", base)
        if found is None:
            raise ValueError(f"{base} is no base that debootstrap can make")
        made = ["debootstrap", "--variant=minbase", found[1], str(self.root), self.mirror]
        subprocess.run(made, check=True, stdout=subprocess.DEVNULL)
        shutil.copy("/etc/resolv.conf", self.root / "etc/resolv.conf")

    def _copy(self, words: str) -> None:
        source, target = words.split()
        shutil.copyfile(self.context / source, self.root / target.lstrip("/"))

    def _enter(self, folder: str) -> None:
        (self.root / folder.lstrip("/")).mkdir(parents=True, exist_ok=True)
        self.folder = folder


def tried(image: Image, works: Path) -> bytes:
    """What its entry point writes of the samples, which it may read and not change."""
    shutil.copytree(works, image.root / image.folder.lstrip("/"), dirs_exist_ok=True)
    ran = image.run(*image.entry_point, *CHECK, before=NO_NETWORK, check=False)
    if ran.returncode != 1:  # the samples hold broken rigs
        raise ValueError(f"it ended with {ran.returncode}")
    return ran.stdout


def main(context: Path, mirror: str) -> int:
    """Follow the recipe, try what it made, and say how large that is; 0 where the documents are equal."""
    if os.geteuid() != 0:
        sys.exit("a root file system is made and entered by root")
    with tempfile.TemporaryDirectory() as work:
        image = Image(Path(work, "root"), context, mirror)
        for word, rest in instructions(RECIPE.read_text("utf-8")):
            image.follow(word, rest)
        works = Path(work, "works")
        shutil.copytree(SAMPLES, works)
        here = [sys.executable, str(context / "lineshaft.pyz"), *CHECK]
        expected = subprocess.run(here, cwd=works, stdout=subprocess.PIPE, check=False).stdout
        found = tried(image, works)
        size = sum(path.stat().st_size for path in image.root.rglob("*") if path.is_file() and not path.is_symlink())
    equal = bool(found) and found == expected
    print(f"the recipe makes {size / 1e6:.0f} MB; its document is {'' if equal else 'NOT '}the program's")  # noqa: T201
    return 0 if equal else 1


def own_mirror() -> str:
    """Where this machine, a Debian, takes its packages from."""
    asked = ["apt-get", "indextargets", "--format", "$(SITE)", "Created-By: Packages"]
    sites = subprocess.run(asked, stdout=subprocess.PIPE, text=True, check=True).stdout.split()
    return min(sites, key=len)  # the updates of security lie beside it, under a longer name


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1]).resolve(), sys.argv[2] if sys.argv[2:] else own_mirror()))

"""What `pip install -e` needs beside a line in site-packages: the import package as a tree of links to its folders.

The wheel's mapping (`lint` is `lineshaft`, `rules` is `lineshaft.rules`, ...) cannot be told by a path alone. Folders
are linked as a whole, so that new files in them are seen at once; a new module or folder at the top of `lint/` is seen
after installing again.
"""

from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class LinkedPackage(BuildHookInterface):
    """Makes `.editable/lineshaft` for an editable installation, and nothing for any other."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Link each source folder; links of before go first. Raises OSError where links cannot be made."""
        if version != "editable":
            return
        root = Path(self.root)
        for source, inside in sorted(self.build_config.sources.items(), key=lambda pair: pair[1]):
            target = root / ".editable" / inside.rstrip("/")
            if target.is_symlink():
                target.unlink()
            if "/" in inside.rstrip("/"):
                target.symlink_to(root / source, target_is_directory=True)
            else:
                self._link_entries(root / source, target)

    def _link_entries(self, source: Path, target: Path) -> None:
        target.mkdir(parents=True, exist_ok=True)
        for link in target.iterdir():
            if link.is_symlink():
                link.unlink()
        for entry in source.iterdir():
            if entry.name != "__pycache__":
                (target / entry.name).symlink_to(entry, target_is_directory=entry.is_dir())

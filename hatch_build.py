"""What a build needs beside the files: in a wheel the bill of software, and for `pip install -e` a tree of links.

The bill is CycloneDX 1.7: what the wheel says that it stands on, which is named by ranges and comes from elsewhere. It
has no date and no serial number, so that the same sources make the same bytes.

For `pip install -e` the import package is a tree of links to its folders, since the wheel's mapping (`lint` is
`lineshaft`, `rules` is `lineshaft.rules`, ...) cannot be told by a path alone. Folders are linked as a whole, so that
new files in them are seen at once; a new module or folder at the top of `lint/` is seen after installing again.
"""

import json
import shutil
import tempfile
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface
from packaging.requirements import Requirement


class PackageBuild(BuildHookInterface):
    """Makes `.editable/lineshaft` for an editable installation, and the bill of software for a wheel."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Before the files are gathered. Raises OSError where links or files cannot be made."""
        self._folder = tempfile.mkdtemp()
        if version == "editable":
            self._link()
            return
        bill = Path(self._folder, f"{self.metadata.core.name}.cdx.json")
        bill.write_text(json.dumps(self._bill(), indent=2) + "\n", "utf-8")
        build_data["sbom_files"].append(str(bill))

    def finalize(self, version: str, build_data: dict[str, Any], artifact_path: str) -> None:
        """After all is packed, nothing stays."""
        shutil.rmtree(self._folder)

    def _bill(self) -> dict[str, Any]:
        core = self.metadata.core
        reference = f"pkg:pypi/{core.name}@{core.version}"
        wanted = [Requirement(text) for text in sorted(core.dependencies)]
        return {
            "$schema": "http://cyclonedx.org/schema/bom-1.7.schema.json",
            "bomFormat": "CycloneDX",
            "specVersion": "1.7",
            "version": 1,
            "metadata": {
                "component": {
                    "type": "application",
                    "bom-ref": reference,
                    "name": core.name,
                    "version": core.version,
                    "description": core.description,
                    "licenses": [{"license": {"id": core.license_expression}}],
                    "purl": reference,
                }
            },
            "components": [_component(one) for one in wanted],
            "dependencies": [
                {"ref": reference, "dependsOn": [f"pkg:pypi/{one.name}" for one in wanted]},
                *({"ref": f"pkg:pypi/{one.name}"} for one in wanted),
            ],
        }

    def _link(self) -> None:
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


def _component(wanted: Requirement) -> dict[str, Any]:
    """What is installed beside the wheel; with a marker, only where that holds."""
    bounds = sorted(str(one).replace("==", "") for one in wanted.specifier)
    return {
        "type": "library",
        "bom-ref": f"pkg:pypi/{wanted.name}",
        "name": wanted.name,
        "isExternal": True,
        "versionRange": f"vers:pypi/{'|'.join(bounds) or '*'}",
        "scope": "optional" if wanted.marker else "required",
        "purl": f"pkg:pypi/{wanted.name}",
    }

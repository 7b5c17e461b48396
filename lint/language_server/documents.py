"""The texts that the client has open, by their addresses; those of our kinds can be judged."""

from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from lsprotocol import types
from pygls.uris import from_fs_path, to_fs_path

from lineshaft.language_server.client_text import ClientText, Encoding
from lineshaft.run.discovery import absolute
from lineshaft.schema.loading import FileKind, kind_of


class OpenDocument(NamedTuple):
    """One version of a text that the client has open, at a path on the disk, of one of our kinds.

    ``serial`` rises with every text that the client sends, while ``version`` may start again.
    """

    uri: str
    path: Path
    kind: FileKind
    version: int
    content: ClientText
    serial: int = 0


class Documents:
    """All that is open. ``generation`` rises with each change that can bear upon more files than the one changed."""

    def __init__(self) -> None:
        self.encoding: Encoding = "utf-16"
        self.generation = 0
        self._serial = 0
        self._open: dict[str, OpenDocument] = {}

    def __iter__(self) -> Iterator[OpenDocument]:
        return iter(tuple(self._open.values()))

    def get(self, uri: str) -> OpenDocument | None:
        """The document at an address; none where it is not open, or none of ours."""
        return self._open.get(uri)

    def at(self, path: Path) -> OpenDocument | None:
        """The open document of a file."""
        return next((document for document in self._open.values() if document.path == path), None)

    def texts(self) -> dict[Path, bytes]:
        """The bytes that stand in place of the disk's."""
        return {document.path: document.content.raw() for document in self._open.values()}

    def opened(self, item: types.TextDocumentItem) -> OpenDocument | None:
        """Keep a text that the client has opened; none where it is no file of ours."""
        path = path_of(item.uri)
        kind = None if path is None else kind_of(path)
        if path is None or kind is None:
            return None
        return self._keep(OpenDocument(item.uri, path, kind, item.version, ClientText(item.text, self.encoding)))

    def changed(self, params: types.DidChangeTextDocumentParams) -> OpenDocument | None:
        """The next version of an open text."""
        known = self._open.get(params.text_document.uri)
        if known is None:
            return None
        content = known.content
        for change in params.content_changes:
            content = content.with_change(change)
        return self._keep(known._replace(version=params.text_document.version, content=content))

    def closed(self, uri: str) -> OpenDocument | None:
        """Forget a text: from now on the disk's counts."""
        known = self._open.pop(uri, None)
        if known is not None and known.kind != "rig":
            self.generation += 1
        return known

    def _keep(self, document: OpenDocument) -> OpenDocument:
        if document.kind != "rig":
            self.generation += 1
        self._serial += 1
        kept = self._open[document.uri] = document._replace(serial=self._serial)
        return kept


def path_of(uri: str) -> Path | None:
    """The path that an address leads to, its folder's links resolved; none where it is no file on this machine."""
    if not uri.startswith("file:"):
        return None
    name = to_fs_path(uri)
    try:
        return None if not name or "\0" in name else absolute(Path(name))
    except (OSError, ValueError, RuntimeError):
        return None


def uri_of(path: Path) -> str:
    """The address of a file."""
    return from_fs_path(str(path)) or path.as_uri()

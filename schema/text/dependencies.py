"""What was asked of the disk and what it answered: a verdict holds for as long as the answers stay the same.

Three questions lead to every verdict: what bytes a file has, which file an include names, and which names a folder
holds; and where waivers are judged, what day it is. A recorder notes them while a file is judged. Recorded answers can
also stand in place of the disk, so that a worker elsewhere needs no files of its own. Paths are written from the
repository's root, so both hold in any clone.
"""

from collections.abc import Mapping
from typing import Literal, NamedTuple


class Refusal(NamedTuple):
    """Why a file is not read: ``absent`` where there is none, else it may not be read; never shows its content."""

    message: str
    absent: bool = False


class Query(NamedTuple):
    """The ``bytes`` of the file ``at``; the file that ``name`` leads to from the folder ``at``, or the names beside."""

    kind: Literal["bytes", "include", "names", "day"]
    at: str = ""
    name: str = ""


Answer = bytes | str | tuple[str, ...] | Refusal
Answers = Mapping[Query, Answer]
Dependencies = tuple[tuple[Query, str], ...]
"""Questions with the digests of their answers."""


class UnansweredError(LookupError):
    """Recorded answers stand in place of the disk, and this question is not among them."""


class DependencyRecorder:
    """Notes, for the file that is judged, each question once with the digest of its answer.

    Digests are kept from file to file, since what was read once is used again without asking.
    """

    __slots__ = ("_asked", "_known")

    def __init__(self) -> None:
        self._known: dict[Query, str] = {}
        self._asked: dict[Query, str] = {}

    def start(self) -> None:
        """Forget what the file before asked."""
        self._asked = {}

    def note(self, query: Query, answer: Answer) -> None:
        """A question that the disk has just answered."""
        self._known[query] = self._asked[query] = digest(answer)

    def again(self, query: Query) -> None:
        """A question whose answer is used again."""
        if query in self._known:
            self._asked[query] = self._known[query]

    def dependencies(self) -> Dependencies:
        """What was asked since the start, in order."""
        return tuple(self._asked.items())


def digest(answer: Answer) -> str:
    """A short text that differs where answers do: a hash, or the path or refusal itself."""
    if isinstance(answer, Refusal):
        return f"refused: {answer.message}"
    if isinstance(answer, str):
        return f"is {answer}"
    try:  # only where answers are kept
        from _blake2 import blake2b  # what hashlib gives, without the OpenSSL that takes 2 ms to load
    except ImportError:
        from hashlib import blake2b

    raw = answer if isinstance(answer, bytes) else "\0".join(("names", *answer)).encode("utf-8", "surrogatepass")
    return blake2b(raw, digest_size=20).hexdigest()

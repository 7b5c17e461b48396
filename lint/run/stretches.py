"""A row of files shared out: each worker goes through a stretch of its own, since neighbours share catalogues.

Who is done first takes over the rear half of the longest stretch that is left.
"""

from itertools import pairwise


class Shares:
    """What is left of a row of ``total`` files, in one stretch a worker, given out ``most`` at once."""

    def __init__(self, total: int, workers: int, most: int = 32) -> None:
        self._most = most
        cuts = [total * number // workers for number in range(workers + 1)]
        self._left = [range(start, end) for start, end in pairwise(cuts)]

    def next_few(self, worker: int) -> range:
        """The next files of a worker, fewer towards the end of its stretch; none when the whole row is given out."""
        own = self._left[worker]
        if not own:
            longest = max(range(len(self._left)), key=lambda number: len(self._left[number]))
            whole = self._left[longest]
            half = whole.start + len(whole) // 2
            self._left[longest], own = whole[: half - whole.start], whole[half - whole.start :]
        count = min(self._most, -(-len(own) // 4))
        self._left[worker] = own[count:]
        return own[:count]

"""A copy of this process, which ends by itself or is ended when its time is up."""

import os
import signal
import time


class Copy:
    """A fork. ``is_this`` in the copy itself, which has to end by `os._exit`; ``ended`` in the one that made it.

    A lock that a thread held when the copy was made is let go by nobody in it: what waits for one is ended after
    ``seconds`` by the clock.
    """

    def __init__(self, seconds: float) -> None:
        self._until = time.monotonic() + seconds
        self._code: int | None = None
        self.number = os.fork()

    @property
    def is_this(self) -> bool:
        """Whether this is the copy."""
        return self.number == 0

    @property
    def ended(self) -> int | None:
        """How it ended, negative by a signal; none while it runs."""
        if self._code is None:
            done, status = os.waitpid(self.number, os.WNOHANG)
            if not done and time.monotonic() > self._until:
                os.kill(self.number, signal.SIGKILL)
                done, status = os.waitpid(self.number, 0)
            self._code = os.waitstatus_to_exitcode(status) if done else None
        return self._code

    def awaited(self) -> int:
        """How it ends."""
        pause = 0.001
        while self.ended is None:
            time.sleep(pause)
            pause = min(0.02, 1.5 * pause)
        assert self._code is not None
        return self._code

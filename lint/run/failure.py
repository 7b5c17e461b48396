"""An error raised in a worker, made ready to travel: with its traceback as a note, for who looks with --debug."""

import pickle
import traceback


def portable(error: Exception) -> Exception:
    """The error itself where it can be sent, else one of its name and words."""
    error.add_note(traceback.format_exc())
    try:
        pickle.loads(pickle.dumps(error))
    except Exception:
        return RuntimeError(f"{type(error).__name__}: {error}")
    return error

"""Long work that goes on when its page is left, and what it has to tell meanwhile."""

import logging
import threading
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Annotated

from fastapi import Depends, Request

from app.errors import WesteringError

Report = Callable[[int, int], None]
BROKEN = "Something is wrong in Westering itself, so this was given up; what was kept before is still kept."


@dataclass(frozen=True)
class Errand:
    """How far some work is: so many of so many steps, and in the end its words."""

    done: int = 0
    of: int = 0
    words: str = ""
    ended: bool = False
    failed: bool = False


class Errands:
    """The errands of this process, one at a time for each key; they end with it and leave nothing half done.

    Its methods may be called from any thread.
    """

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._errands: dict[str, Errand] = {}

    def of(self, key: str) -> Errand | None:
        """Return the errand that runs for a key, or the last one that ended."""
        with self._lock:
            return self._errands.get(key)

    def start(self, key: str, work: Callable[[Report], str]) -> None:
        """Run work in a thread of its own, unless some runs for this key already.

        ``work`` is given a function for telling steps done and steps in all, and
        returns the sentence to show in the end. A ``WesteringError`` ends it with
        its own sentence.
        """
        with self._lock:
            running = self._errands.get(key)
            if running and not running.ended:
                return
            self._errands[key] = Errand()
        threading.Thread(target=self._run, args=(key, work), name=f"errand {key}", daemon=True).start()

    def forget(self, key: str) -> None:
        """Drop what an errand said, once it has ended."""
        with self._lock:
            if key in self._errands and self._errands[key].ended:
                del self._errands[key]

    def _run(self, key: str, work: Callable[[Report], str]) -> None:
        try:
            words, failed = work(lambda done, of: self._change(key, done=done, of=of)), False
        except WesteringError as error:
            words, failed = str(error), True
        except Exception:  # a thread that dies unheard would leave its page waiting for ever
            logging.getLogger(__name__).exception("The errand %s broke", key)
            words, failed = BROKEN, True
        self._change(key, words=words, ended=True, failed=failed)

    def _change(self, key: str, **facts: int | str | bool) -> None:
        with self._lock:
            self._errands[key] = replace(self._errands[key], **facts)


async def _errands(request: Request) -> Errands:
    # Asynchronous, so that it runs on the one event loop and two requests cannot both make one.
    state = request.app.state
    if not hasattr(state, "errands"):
        state.errands = Errands()
    return state.errands


RunningErrands = Annotated[Errands, Depends(_errands)]

"""Searches that each ask one question after another, the questions of all of them answered at once.

A function of arrays answers many questions in little more time than one, but a search by a library waits for each answer where
it calls back. So each search has a thread of its own; they take turns, and whoever asks waits until all others ask too or have
ended.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from queue import SimpleQueue
from threading import Thread
from typing import Any, Generic, TypeVar

Question = TypeVar("Question")
Answer = TypeVar("Answer")
Result = TypeVar("Result")


def together(
    searches: Sequence[Callable[[Callable[[Question], Answer]], Result]],
    answers: Callable[[Sequence[Question]], Sequence[Answer]],
) -> list[Result]:
    """What each search returns, a function of `ask`, which takes a question and gives the answer.

    answers : of the questions of all searches that go on, in their order
    What a search or `answers` raises is raised, and no search goes on.
    """
    turns = [_Turns(one) for one in searches]
    try:
        waiting = [one for one in turns if one.asks()]
        while waiting:
            found = answers([one.question for one in waiting])
            waiting = [one for one, answer in zip(waiting, found, strict=True) if one.asks(answer)]
    finally:
        for one in turns:
            one.end()
    return [one.result for one in turns]


class _End(BaseException):
    """Raised in a search that is to end; no search catches it."""


class _Turns(Generic[Question, Answer, Result]):
    """A search in a thread of its own, which runs only while it is waited for here.

    question : the last one that it asked;   result : once it asks no more
    """

    question: Question
    result: Result

    def __init__(self, search: Callable[[Callable[[Question], Answer]], Result]) -> None:
        self._search = search
        self._asked, self._answers = SimpleQueue[Any](), SimpleQueue[Any]()
        self._thread = Thread(target=self._run, daemon=True)

    def asks(self, *answer: Answer) -> bool:
        """Start it, or give it the answer to its question, and wait: whether it asks another."""
        if answer:
            self._answers.put(answer)
        else:
            self._thread.start()
        kind, found = self._asked.get()
        if kind == "fault":
            raise found
        setattr(self, kind, found)
        return bool(kind == "question")

    def end(self) -> None:
        """Let it go no further."""
        if self._thread.ident is not None:
            self._answers.put(None)
            self._thread.join()

    def _run(self) -> None:
        try:
            self._asked.put(("result", self._search(self._ask)))
        except BaseException as fault:  # noqa: BLE001  (raised where it is waited for)
            self._asked.put(("fault", fault))

    def _ask(self, question: Question) -> Answer:
        self._asked.put(("question", question))
        answer: tuple[Answer] | None = self._answers.get()
        if answer is None:
            raise _End
        return answer[0]


__all__ = ["together"]

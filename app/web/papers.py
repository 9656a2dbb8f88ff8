"""The three papers a page can be printed on, kept in a cookie."""

from dataclasses import dataclass

from fastapi import Request

COOKIE = "paper"


@dataclass(frozen=True)
class Paper:
    """A set of inks and grounds: its name and what it is for."""

    name: str
    meant_for: str


PAPERS = (
    Paper("proof", "for the desk"),
    Paper("glare", "for full sun"),
    Paper("safelight", "for dusk"),
)


def paper_of(request: Request) -> str:
    """Return the name of the paper this browser has chosen; proof unless it has."""
    chosen = request.cookies.get(COOKIE)
    return chosen if chosen in {paper.name for paper in PAPERS} else PAPERS[0].name

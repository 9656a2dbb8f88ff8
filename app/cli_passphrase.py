"""Asking for a passphrase at the keyboard, or taking it from a pipe."""

import sys
from getpass import getpass

from app.errors import BadInput


def asked_twice() -> str:
    """Return what was typed twice alike without being shown, or the first line of what is piped in."""
    if not sys.stdin.isatty():
        return sys.stdin.readline().rstrip("\r\n")
    passphrase = getpass("New passphrase (a few words; it is not shown): ")
    if getpass("The same again: ") != passphrase:
        raise BadInput("The two were not the same, so nothing was changed.", "passphrase")
    return passphrase

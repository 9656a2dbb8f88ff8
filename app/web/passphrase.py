"""The owner's passphrase: what it must be, its hash, and how long a wrong try makes one wait."""

from threading import BoundedSemaphore

from argon2 import PasswordHasher
from argon2.exceptions import VerificationError

from app.errors import BadInput

SHORTEST, LONGEST = 12, 1000  # characters; OWASP ASVS 5.0, 6.2.1, asks for 8 and advises 15
FREE_TRIES = 3
LONGEST_WAIT_S = 300.0
# OWASP's Password Storage Cheat Sheet: Argon2id with 19 MiB, two passes, one lane.
_HASHER = PasswordHasher(time_cost=2, memory_cost=19_456, parallelism=1)
_AT_ONCE = BoundedSemaphore(2)  # so that a storm of tries cannot take all memory


def hashed(passphrase: str) -> str:
    """Return the hash to keep; ``BadInput`` for one that is too short, too long or too plain."""
    if not SHORTEST <= len(passphrase) <= LONGEST:
        raise BadInput(f"A passphrase has {SHORTEST} to {LONGEST} characters; {len(passphrase)} came. A few words do well.", "passphrase")
    if len(set(passphrase.casefold())) < 5:
        raise BadInput("This passphrase has too few different characters; a few words do well.", "passphrase")
    with _AT_ONCE:
        return _HASHER.hash(passphrase)


def is_right(passphrase: str, kept_hash: str) -> bool:
    """Tell whether a passphrase is the one kept; takes about 25 ms whether it is or not."""
    with _AT_ONCE:
        try:
            return _HASHER.verify(kept_hash, passphrase[: LONGEST + 1])
        except VerificationError:
            return False


def needs_new_hash(kept_hash: str) -> bool:
    """Tell whether the hash was made by weaker rules than today's."""
    return _HASHER.check_needs_rehash(kept_hash)


def wait_s(wrong_tries: int) -> float:
    """Return how long after its last wrong try somebody must wait: none for three, then 2, 4, 8 up to 300 s."""
    return 0.0 if wrong_tries < FREE_TRIES else min(2.0 ** (wrong_tries - FREE_TRIES + 1), LONGEST_WAIT_S)

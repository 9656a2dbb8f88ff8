"""Run by a test in several processes at once: adds one to a site's number, again and again."""

import sys

from app.errors import Conflict
from app.storage.store import Store


def count_up(store: Store) -> bool:
    site = store.site("counter")
    counted = {**site.document, "count": site.document["count"] + 1}
    try:
        store.save_site("counter", counted, site.version)
    except Conflict:
        return False
    return True


def main(address: str, times: int) -> None:
    with Store(address) as store:
        done = 0
        while done < times:
            done += count_up(store)


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]))

"""The kit that is kept for all sites; the demo's until the photographer's own takes its place."""

from app.errors import BadInput
from app.light.kit import DEMO_KIT, Kit, kit_document, kit_from
from app.storage.store import Store

SETTING = "kit"


def kept_kit(store: Store) -> Kit:
    """Return the kit; one that a newer program kept and this one cannot read raises ``BadInput``."""
    kept = store.setting(SETTING)
    return kit_from(kept) if kept is not None else DEMO_KIT


def usable_kit(store: Store) -> Kit:
    """Return the kept kit, or the demo's where it cannot be read: the pages of light say why."""
    try:
        return kept_kit(store)
    except BadInput:
        return DEMO_KIT


def keep_kit(store: Store, kit: Kit) -> None:
    """Keep a kit for all setups."""
    store.save_setting(SETTING, kit_document(kit))

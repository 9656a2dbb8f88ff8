"""The kit: kept and read back the same, found by name, and every bad figure named with its thing."""

import pytest

from app.errors import BadInput
from app.light.kit import DEMO_KIT, CameraBody, Kit, Lens, kit_document, kit_from


def test_a_kit_is_read_back_as_it_was_kept():
    assert kit_from(kit_document(DEMO_KIT)) == DEMO_KIT
    assert kit_from({}) == Kit()


def test_a_flash_without_high_speed_sync_is_kept_so():
    document = {"flashes": [{"name": "Old one", "guide_number_m": 28, "high_speed_stops": None}]}
    (flash,) = kit_from(document).flashes
    assert kit_from(kit_document(Kit(flashes=(flash,)))).flashes == (flash,)


def test_things_are_found_by_name_or_the_usual_one_is_taken():
    assert DEMO_KIT.camera("Small second body").sync_s == 1 / 160
    assert DEMO_KIT.camera(None) is DEMO_KIT.cameras[0]
    assert DEMO_KIT.lens(None, 135.0).name == "70-200 mm"
    assert DEMO_KIT.lens(None, 400.0).longest_mm == 400.0
    assert DEMO_KIT.modifier(None) is None and DEMO_KIT.modifier("Softbox 60 cm").beam_deg == 90.0
    with pytest.raises(BadInput, match="no flash “Torch” in the kit; it has: Clip-on flash") as told:
        DEMO_KIT.flash("Torch")
    assert told.value.field == "flash"
    with pytest.raises(BadInput, match="no flash in the kit"):
        Kit().flash(None)


def test_limits_are_those_of_camera_and_lens_with_all_filters():
    limits = DEMO_KIT.limits(CameraBody("b", sync_s=1 / 160), Lens("l", 70, 200, 2.8, 22), 4.0)
    assert (limits.sync_s, limits.widest_f_number, limits.smallest_f_number, limits.wanted_f_number) == (1 / 160, 2.8, 22, 4.0)
    assert limits.nd_stops == (3.0, 6.0)


@pytest.mark.parametrize("document,words", [
    ([], "lists cameras"),
    ({"cameras": {}}, "are a list"),
    ({"cameras": [{}]}, "has a name"),
    ({"cameras": [{"name": "a"}, {"name": "a"}]}, "are called “a”"),
    ({"cameras": [{"name": "a", "sync_s": "soon"}]}, "“a”.*The sync time is a number"),
    ({"cameras": [{"name": "a", "base_iso": 800, "highest_iso": 100}]}, "“a”: The highest ISO"),
    ({"lenses": [{"name": "a", "shortest_mm": 50}]}, "“a” lacks a figure: longest_mm"),
    ({"lenses": [{"name": "a", "shortest_mm": 90, "longest_mm": 50, "widest_f_number": 2}]}, "from short to long"),
    ({"lenses": [{"name": "a", "shortest_mm": 50, "longest_mm": 50, "widest_f_number": 22, "smallest_f_number": 2}]}, "other way round"),
    ({"flashes": [{"name": "a", "guide_number_m": 0}]}, "gives no light"),
    ({"modifiers": [{"name": "a", "loss_stops": 1, "beam_deg": 900}]}, "A beam lies between"),
    ({"filters": [{"name": "a", "taken_stops": 90}]}, "between 1/3 and 20 stops"),
    ({"filters": [{"name": f"f{n}", "taken_stops": 1} for n in range(41)]}, "at most 40"),
])  # fmt: skip
def test_what_cannot_be_used_is_told_by_its_name(document, words):
    with pytest.raises(BadInput, match=words):
        kit_from(document)

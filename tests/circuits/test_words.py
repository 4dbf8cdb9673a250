"""What the shipped sheets say of their parts is said of the right thing."""

import pytest

from gaugesim.circuit import available, find

# what a repair may only speak of where the part is called one of these
OF = {
    "pin": ("pin", "connector"),
    "cable": ("cable", "strap"),
    "nut": ("nut",),
    "track": ("track",),
    "thread": ("thread",),
    "fuse": ("fuse",),
}


@pytest.mark.parametrize("name", available())
def test_a_repair_is_done_to_the_part_itself(name: str) -> None:
    for part in find(name).sheet.parts.values():
        for noun, called in OF.items():
            if noun in part.repair.replace(",", "").split():
                assert any(word in part.words.split() for word in called), f"{part.words}: {part.repair}"

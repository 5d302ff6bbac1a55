"""The words of generated things: small letters of ASCII only, so that a name is its own sort key."""

import random
from collections.abc import Mapping, Sequence
from typing import Final

#: kind to what such things are called and of what sets of materials they are
THINGS: Final[Mapping[str, tuple[Sequence[str], Sequence[Sequence[str]]]]] = {
    "fire": (
        ("fire helmet", "brigade helmet", "engine crew helmet", "works brigade helmet"),
        (("copper_alloy", "leather"), ("steel", "paint", "leather"), ("leather", "copper_alloy", "paint")),
    ),
    "mine_rescue": (
        ("mine-rescue helmet", "pit cap", "deputy cap", "shaft sinker hat"),
        (("vulcanised_fibre", "leather"), ("aluminium", "leather", "textile"), ("leather", "steel")),
    ),
    "diving": (("diving helmet", "diver cap", "harbour diver helmet"), (("copper_alloy", "glass"), ("wool",))),
    "flying": (
        ("flying helmet", "observer helmet", "air crew helmet"),
        (("leather", "wool", "rubber"), ("textile", "copper_alloy"), ("resin_fabric", "pu_foam", "textile")),
    ),
    "motor_cycle": (("motor-cycle helmet", "dispatch rider helmet"), (("cork", "textile", "leather"), ("vulcanised_fibre", "leather"))),
    "civil_defence": (
        ("civil-defence helmet", "rescue party helmet", "warden helmet", "first-aid post helmet"),
        (("steel", "paint", "leather", "textile"), ("steel", "paint", "decal"), ("steel", "paint")),
    ),
    "police": (("police helmet", "harbour police cap", "night watch helmet"), (("felt", "cork"), ("wool", "leather"))),
}
LOOKS: Final = (
    "black", "white", "grey", "crested", "plated", "combed", "plain", "early", "late", "officer pattern", "boy size", "two-piece", "riveted",
    "pressed", "low crown", "high crown", "trial", "export", "parade", "training", "winter", "summer", "spare", "unfinished",
)  # fmt: skip
SEEN: Final = (
    "badge", "band", "beaded", "brim", "broad", "buckle", "chain", "chin", "clip", "collar", "comb", "cord", "cotton", "crown", "dented", "ear",
    "edge", "eyelet", "faded", "flap", "folded", "front", "guard", "hand-painted", "holes", "hook", "initials", "inside", "lacquered", "lamp",
    "large", "left", "letters", "lining", "long", "loop", "maker", "narrow", "neck", "number", "oval", "paper", "peak", "pencil", "plate", "pocket",
    "punched", "quilted", "rear", "red", "repaired", "replaced", "right", "ring", "rivets", "rolled", "round", "seam", "shell", "shield", "short",
    "side", "size", "small", "split", "spring", "stamped", "star", "stencilled", "stitched", "strap", "stripe", "studs", "sweatband", "tab", "tape",
    "thin", "tied", "tongue", "top", "twisted", "vent", "visor", "washers", "wide", "wing", "wire", "worn", "yellow",
)  # fmt: skip
DATES: Final = ("1890s", "1900 to 1910", "about 1915", "1920s", "1930s", "about 1938", "1940s", "about 1950", "1950s", "1960s")
BEGIN: Final = ("bal", "cor", "den", "fal", "gar", "hul", "kel", "lon", "mor", "nor", "pel", "ros", "sel", "tor", "vel", "wal")
MIDDLE: Final = ("a", "e", "i", "o", "an", "er", "ic", "om")
END: Final = ("by", "den", "fold", "grave", "ham", "ker", "low", "mere", "ness", "rick", "stead", "ton", "vik", "worth", "yard", "zon")


def name(dice: random.Random, kind: str) -> str:
    """What such a thing is called."""
    return f"{dice.choice(LOOKS)} {dice.choice(THINGS[kind][0])}"


def description(dice: random.Random) -> str:
    """What is to be seen of it, with a name that few others have."""
    return f"{' '.join(dice.sample(SEEN, 8))} {dice.choice(BEGIN)}{dice.choice(MIDDLE)}{dice.choice(END)}"

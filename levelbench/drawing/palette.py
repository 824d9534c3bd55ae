"""The colours behind the roles: warm paper, a dark sheet, and grey print."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from levelbench.drawing.scene import Role


@dataclass(frozen=True)
class Palette:
    """One colour, "#rrggbb", for every role."""

    name: str
    colours: Mapping[Role, str]

    def __getitem__(self, role: Role) -> str:
        """Give the colour of a role."""
        return self.colours[role]


def _palette(name: str, colours: str) -> Palette:
    return Palette(name, MappingProxyType(dict(zip(Role, colours.split(), strict=True))))


# ink quiet hairline liquid water-line attention attention-tint stop stop-tint selection hatch wall paper card
LIGHT = _palette(
    "light",
    "#26313b #5b6771 #c9ced3 #c9dfeb #2a688e #965900 #f3e6cc #a1231b #f4dcd9 #2a688e #8b97a1 #e9eaea #f5f4f0 #ffffff",
)
DARK = _palette(
    "dark",
    "#e6e3dc #a3b0ba #3f4b55 #27465a #84bfe3 #e8ac55 #43371f #f28f85 #4a2927 #84bfe3 #697781 #2c363e #1c2329 #242d34",
)
PRINT = _palette(
    "print",
    "#1a2128 #4f5962 #b4babf #d9e7ef #235c80 #855000 #f4ead6 #8e1b14 #f4e0de #235c80 #7d8790 #f0f0f0 #ffffff #ffffff",
)


def _channel(value: int) -> float:
    share = value / 255
    return share / 12.92 if share <= 0.04045 else float(((share + 0.055) / 1.055) ** 2.4)


def luminance(colour: str) -> float:
    """Give the relative luminance of "#rrggbb", 0 to 1 (W3C, Web Content Accessibility Guidelines 2.2)."""
    red, green, blue = (_channel(int(colour[at : at + 2], 16)) for at in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def grey(palette: Palette) -> Palette:
    """Give the palette as a copier that knows no colour would print it."""

    def as_grey(colour: str) -> str:
        light = luminance(colour)
        share = 12.92 * light if light <= 0.0031308 else 1.055 * light ** (1 / 2.4) - 0.055
        return "#" + f"{round(255 * share):02x}" * 3

    return Palette(f"{palette.name} grey", MappingProxyType({role: as_grey(palette[role]) for role in Role}))

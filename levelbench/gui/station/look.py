"""The look of the operator station: few, strong colours for a light and a dark room, large type, targets for a glove.

Every pair of colours in `PAIRS` has a contrast of 7:1 or more (W3C, Web Content Accessibility Guidelines 2.2, 1.4.6).
"""

from dataclasses import asdict, dataclass
from string import Template

from PySide6.QtCore import QSize

from levelbench.gui.look import theme
from levelbench.places import resources

ROOMY = QSize(1100, 720)  # px; in less, letters and lamps are smaller, what is pressed is not
SIZES = {  # px at 100 %: roomy, compact
    "small": (14, 14),
    "body": (16, 16),
    "button": (18, 16),
    "title": (20, 16),
    "value": (28, 20),
    "word": (40, 28),
    "pv": (76, 56),
    "stop_high": (72, 48),
}
TARGET = 60  # px at 100 %; nothing that is pressed is smaller


@dataclass(frozen=True)
class StationLook:
    """The colours of one room, "#rrggbb"."""

    ground: str
    card: str
    ink: str
    quiet: str
    edge: str
    chosen: str
    attention: str
    attention_tint: str
    stop: str
    stop_tint: str
    good: str


LOOKS = {
    "light": StationLook(
        *("#f5f4f0", "#ffffff", "#1a2128", "#3d4852", "#5b6771", "#c9dfeb"),
        *("#6b3f00", "#f3e6cc", "#8e1b14", "#f7e3e1", "#1d5a22"),
    ),
    "dark": StationLook(
        *("#14191d", "#1c2329", "#f2efe9", "#c6d0d8", "#93a1ac", "#27465a"),
        *("#f5c57d", "#3a2f1a", "#ffb8b0", "#43231f", "#a3d9a8"),
    ),
}
PAIRS = (  # words, and the ground that they stand on
    *(("ink", ground) for ground in ("ground", "card", "chosen")),
    *(("quiet", ground) for ground in ("ground", "card")),
    *(("attention", ground) for ground in ("ground", "card", "attention_tint")),
    *(("stop", ground) for ground in ("ground", "card", "stop_tint")),
    ("card", "stop"),
    *(("good", ground) for ground in ("ground", "card")),
)


def current() -> StationLook:
    """Give the look that goes with the theme of the program."""
    return LOOKS[theme.current().name]


def style_sheet(look: StationLook, *, compact: bool) -> str:
    """Give the station's style sheet in a look, for a large or a small screen."""
    text = (resources() / "style" / "station.qss").read_text(encoding="utf-8")
    sizes = {name: str(size[compact]) for name, size in SIZES.items()}
    return Template(text).substitute(asdict(look) | sizes | {"family": theme.FAMILY, "target": str(TARGET)})

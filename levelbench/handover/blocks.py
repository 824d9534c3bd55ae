"""What a sheet is made of: blocks of content that know nothing of pages, screens or colours."""

from dataclasses import dataclass

from levelbench.drawing.scene import Scene


@dataclass(frozen=True)
class Heading:
    """The title of a part of the sheet, or of a piece of such a part."""

    text: str
    minor: bool = False


@dataclass(frozen=True)
class Paragraph:
    """Running text; `quiet` for what is only looked up."""

    text: str
    quiet: bool = False


@dataclass(frozen=True)
class Bullets:
    """Sentences that stand one below the other."""

    lines: tuple[str, ...]


@dataclass(frozen=True)
class Grid:
    """Names with their values, set in two columns of pairs."""

    pairs: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Table:
    """Rows under a head that is repeated on every page; a cell may have several lines ("\\n").

    `widths` are shares of the room; `right` are the columns that are set flush right (numbers); `tall` leaves room for
    writing by hand.
    """

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    widths: tuple[float, ...]
    right: tuple[int, ...] = ()
    tall: bool = False

    def __post_init__(self) -> None:
        assert all(len(row) == len(self.head) for row in self.rows)
        assert len(self.widths) == len(self.head)


@dataclass(frozen=True)
class Drawing:
    """A scene with a line of explanation under it."""

    scene: Scene
    caption: str


@dataclass(frozen=True)
class Equation:
    """A formula on a line of its own."""

    text: str


@dataclass(frozen=True)
class Note:
    """A framed text that must not be overlooked; the word and the mark say what it is, never a colour alone."""

    mark: str
    word: str
    text: str


@dataclass(frozen=True)
class Signatures:
    """Lines to sign on: what for, and the name where it is known."""

    lines: tuple[tuple[str, str], ...]


Block = Heading | Paragraph | Bullets | Grid | Table | Drawing | Equation | Note | Signatures


@dataclass(frozen=True)
class Sheet:
    """A whole sheet. `running` is what every page repeats; `foot` stands at the foot of every page."""

    title: str
    subtitle: str
    status: str
    running: str
    foot: str
    fingerprint: str
    blocks: tuple[Block, ...]

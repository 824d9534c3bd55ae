"""The text of a project file, edited key by key: comments, order and layout of everything else stay as they are.

A value that is there is replaced where it stands; a new one is put on a line of its own below the last entry of its
section, so that a comment above the next section stays with that section. Only the lines of the entry in hand are taken
apart with their layout, because that is slow: a whole page takes fifty times as long.
"""

import re
from collections.abc import Mapping, MutableMapping, Sequence
from dataclasses import dataclass
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AoT, InlineTable, Item

from levelbench.project.lines import places
from levelbench.project.syntax import plain_data

Plain = str | int | bool | Sequence[Any] | Mapping[str, Any]
_BOM = "\ufeff"


class PageError(ValueError):
    """A key that has no place in the text, such as an entry inside of a plain text."""


@dataclass(frozen=True)
class _Piece:
    """Whole lines of a text that are TOML by themselves; `parts` is what is left of a key within them."""

    lines: list[str]  # of the whole text
    first: int
    end: int
    parts: list[str | int]

    def opened(self) -> tuple[tomlkit.TOMLDocument, Any]:
        """Give the piece with its layout, and in it what holds the last part of the key. Raises PageError."""
        try:
            document = tomlkit.parse("\n".join(self.lines[self.first : self.end]))
            holder: Any = document
            for step in self.parts[:-1]:
                holder = holder[step]
        except (TOMLKitError, KeyError, IndexError, TypeError) as error:
            raise PageError(f"There is no place for an entry in {key_of(self.parts[:-1])}.") from error
        return document, holder

    def put_back(self, document: tomlkit.TOMLDocument) -> str:
        """Give the whole text with the piece as it is now."""
        return "\n".join([*self.lines[: self.first], document.as_string(), *self.lines[self.end :]])


class Page:
    """One text under edit; `text` is what it has become."""

    def __init__(self, text: str) -> None:
        self._bom = text.startswith(_BOM)
        self._windows = "\r\n" in text
        self._text = text.removeprefix(_BOM).replace("\r\n", "\n")

    @property
    def text(self) -> str:
        """The whole text, with the line ends and the byte order mark that it came with."""
        text = self._text.replace("\n", "\r\n") if self._windows else self._text
        return (_BOM if self._bom else "") + text

    def value(self, key: str) -> Any:
        """Give the plain value at a key, None when there is none."""
        found: Any = plain_data(self._text)
        for step in steps(key):
            try:
                found = found[step]
            except (KeyError, IndexError, TypeError):
                return None
        return found

    def put(self, key: str, value: Plain) -> None:
        """Give a key a value, whether it is there or not. Raises PageError when it can have no place."""
        parts = _place(key)
        *outer, last = parts
        if self.value(key) is not None:
            self._replace(parts, value)
        elif isinstance(last, int):
            raise PageError(f"There is no row {key}.")
        else:
            self._add(key_of(outer), last, value)

    def take_out(self, key: str) -> None:
        """Remove a key with its value, if it is there. Raises PageError for a key without a name."""
        if self.value(key) is None:
            return
        parts = _place(key)
        place = places(self._text).get(key_of(parts))
        if place and not place.heading:
            lines = self._text.split("\n")
            del lines[place.first - 1 : place.last]
            self._text = "\n".join(lines)
            return
        piece = self._piece(parts)
        document, holder = piece.opened()
        *outer, last = parts
        if isinstance(holder, InlineTable):
            self._replace(outer, {name: one for name, one in holder.unwrap().items() if name != last})
            return
        del holder[last]
        self._text = piece.put_back(document)

    def rename(self, key: str, name: str) -> None:
        """Give an entry that has a line of its own another name, if it is there."""
        place = places(self._text).get(key)
        if place and not place.heading:
            lines = self._text.split("\n")
            old = re.escape(key.rpartition(".")[2])
            line = lines[place.first - 1]
            lines[place.first - 1] = re.sub(rf"^([^=]*?)(['\"]?){old}\2(?=\s*=)", rf"\g<1>{name}", line, count=1)
            self._text = "\n".join(lines)

    def _piece(self, parts: Sequence[str | int]) -> _Piece:
        """Give the smallest piece of the text that has a whole key in it: the lines of an entry, else all lines."""
        lines, found = self._text.split("\n"), places(self._text)
        for length in range(len(parts), 0, -1):
            place = found.get(key_of(parts[:length]))
            if place and not place.heading:
                above = [steps(key) for key, one in found.items() if one.heading and one.first < place.first]
                section = above[-1] if above else []
                if list(parts[: len(section)]) == section:
                    return _Piece(lines, place.first - 1, place.last, list(parts[len(section) :]))
        return _Piece(lines, 0, len(lines), list(parts))

    def _replace(self, parts: Sequence[str | int], value: Plain) -> None:
        piece = self._piece(parts)
        document, holder = piece.opened()
        *outer, last = parts
        if isinstance(holder[last], AoT) and isinstance(last, str):
            self.take_out(key_of(parts))
            self._add(key_of(outer), last, value)
            return
        if isinstance(holder, AoT) and not isinstance(value, Mapping):
            raise PageError(f"{key_of(parts)} is a row; set the entries in it one by one.")
        holder[last] = dict(value) if isinstance(holder, AoT) and isinstance(value, Mapping) else _item(value)
        self._text = piece.put_back(document)

    def _add(self, section: str, name: str, value: Plain) -> None:
        """Add a key that is not there yet."""
        if section and self.value(section) is None:
            self._begin(section, name, value)
            return
        outer = steps(section)
        holder = self._section(section)
        if isinstance(holder, InlineTable):
            self._replace(outer, {**holder.unwrap(), name: value})
        elif not isinstance(holder, MutableMapping):
            raise PageError(f"{section} is no section, so {name} has no place in it.")
        elif not section and isinstance(value, list | tuple):
            self._append("".join(_row(name, one) for one in value))
        else:
            self._insert(section, name, value)

    def _section(self, section: str) -> Any:
        """Give what stands at the key of a section; of one with a heading no more than that it is a section."""
        place = places(self._text).get(section)
        if not section or (place and place.heading):
            return {}
        parts = steps(section)
        _, holder = self._piece(parts).opened()
        return holder[parts[-1]]

    def _begin(self, section: str, name: str, value: Plain) -> None:
        """Add a key to a section that is not there: a limit in an inline table, anything else under a heading."""
        *outer, last = steps(section)
        if isinstance(last, int):
            raise PageError(f"There is no row {section}.")
        if outer:
            self._add(key_of(outer), last, {name: value})
        else:
            self._append(f"\n[{section}]\n{name} = {rendered(value)}\n")

    def _append(self, block: str) -> None:
        self._text = self._text + ("" if self._text.endswith("\n") or not self._text else "\n") + block

    def _insert(self, section: str, name: str, value: Plain) -> None:
        """Put a new entry on a line of its own below the last one of its section."""
        found = places(self._text)
        own = [one.last for key, one in found.items() if key.rpartition(".")[0] == section and not one.heading]
        if section and section not in found:  # a section made of dotted keys has no heading to put a line below
            piece = self._piece([*steps(section), name])
            document, holder = piece.opened()
            holder[name] = _item(value)
            self._text = piece.put_back(document)
            return
        after = max(own, default=found[section].first if section else 0)
        lines = self._text.split("\n")
        above = lines[after - 1]
        indent = above[: len(above) - len(above.lstrip())] if own else ""
        lines.insert(after, f"{indent}{name} = {rendered(value)}")
        self._text = "\n".join(lines)


def steps(key: str) -> list[str | int]:
    """Take a key apart: "stack_light[2].red" is ["stack_light", 2, "red"]."""
    parts = re.findall(r"\[(\d{1,6})\]|([^.\[\]]+)", key)
    return [int(number) if number else name for number, name in parts]


def _place(key: str) -> list[str | int]:
    parts = steps(key)
    if not parts:
        raise PageError("The name of the entry is missing.")
    return parts


def key_of(parts: Sequence[str | int]) -> str:
    """Put a key together again from its steps."""
    return "".join(f"[{one}]" if isinstance(one, int) else f".{one}" for one in parts).lstrip(".")


def rendered(value: Plain) -> str:
    """Write a plain value as TOML, on one line."""
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{name} = {rendered(one)}" for name, one in value.items()) + " }" if value else "{}"
    if isinstance(value, Sequence) and not isinstance(value, str):
        return "[" + ", ".join(rendered(one) for one in value) + "]"
    return tomlkit.item(value).as_string()


def _item(value: Plain) -> Item:
    return tomlkit.value(rendered(value))


def _row(name: str, row: Mapping[str, Any]) -> str:
    return f"\n[[{name}]]\n" + "".join(f"{key} = {rendered(one)}\n" for key, one in row.items())

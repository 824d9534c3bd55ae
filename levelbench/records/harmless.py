"""Texts that people typed, as cells that no spreadsheet takes for a formula.

A cell that begins with =, +, - or @ is worked out when a spreadsheet opens the file, and a formula can reach other
programs. An apostrophe in front makes it a text; spreadsheets hide it. What begins with an apostrophe gets a second
one, so that reading takes away just what writing put there. (OWASP, CSV injection.)
"""

_WORKED_OUT = ("=", "+", "-", "@", "＝", "＋", "－", "＠", "\t", "\r", "\n")
_MARK = "'"


def harmless(text: str) -> str:
    """Give a text as a cell that stays a text."""
    return f"{_MARK}{text}" if text.lstrip(" ").startswith((*_WORKED_OUT, _MARK)) else text


def as_typed(cell: str) -> str:
    """Give the text that a cell of `harmless` stands for."""
    return cell[1:] if cell.startswith(_MARK) else cell

"""A sheet as one self-contained HTML page: its drawings inside, printable, readable on a telephone."""

from functools import singledispatch
from html import escape

from levelbench.drawing.palette import PRINT
from levelbench.drawing.scene import Role
from levelbench.drawing.svg import FAMILY, to_svg
from levelbench.handover.blocks import (
    Block,
    Bullets,
    Drawing,
    Equation,
    Grid,
    Heading,
    Note,
    Paragraph,
    Sheet,
    Signatures,
    Table,
)

STYLE = f"""
:root {{ color-scheme: light; }}
* {{ box-sizing: border-box; }}
body {{ margin: 0 auto; padding: 1.2rem; max-width: 60rem; background: {PRINT[Role.PAPER]}; color: {PRINT[Role.INK]};
  font: 0.95rem/1.45 {FAMILY}; overflow-wrap: break-word; hyphens: auto; font-variant-numeric: tabular-nums; }}
header {{ border-bottom: 2px solid {PRINT[Role.INK]}; margin-bottom: 1rem; }}
h1 {{ font-size: 1.5rem; margin: 0; }}
header p {{ margin: 0.2rem 0 0.6rem; color: {PRINT[Role.QUIET]}; }}
h2 {{ font-size: 1.1rem; margin: 1.6rem 0 0.5rem; break-after: avoid; }}
h3 {{ font-size: 0.95rem; margin: 1rem 0 0.2rem; break-after: avoid; }}
.quiet {{ color: {PRINT[Role.QUIET]}; font-size: 0.85rem; }}
table {{ border-collapse: collapse; width: 100%; font-size: 0.85rem; margin: 0.5rem 0; }}
th, td {{ text-align: left; vertical-align: top; padding: 0.25rem 0.5rem 0.25rem 0;
  border-bottom: 1px solid {PRINT[Role.HAIRLINE]}; white-space: pre-line; }}
th {{ border-bottom: 1.5px solid {PRINT[Role.INK]}; }}
.right {{ text-align: right; padding-right: 1rem; }}
.tall td {{ height: 2.1rem; }}
.tall td + td, .tall th + th {{ border-left: 1px solid {PRINT[Role.HAIRLINE]}; padding-left: 0.5rem; }}
thead {{ display: table-header-group; }}
tr, figure, .note {{ break-inside: avoid; }}
.wide {{ overflow-x: auto; }}
dl {{ display: grid; grid-template-columns: repeat(auto-fill, minmax(17rem, 1fr)); gap: 0 2rem; margin: 0.5rem 0;
  font-size: 0.85rem; }}
dl div {{ display: flex; justify-content: space-between; gap: 1rem; padding: 0.2rem 0;
  border-bottom: 1px solid {PRINT[Role.HAIRLINE]}; }}
dt {{ color: {PRINT[Role.QUIET]}; }}
dd {{ margin: 0; text-align: right; }}
figure {{ margin: 1rem 0; overflow-x: auto; }}
figure svg {{ width: 100%; min-width: 36rem; height: auto; }}
figcaption, footer {{ color: {PRINT[Role.QUIET]}; font-size: 0.85rem; }}
.note {{ border: 1.5px solid {PRINT[Role.INK]}; padding: 0.6rem 0.8rem; margin: 0.8rem 0; }}
.equation {{ text-align: center; font-size: 1.05rem; margin: 0.8rem 0; }}
.sign {{ display: grid; grid-template-columns: repeat(auto-fill, minmax(17rem, 1fr)); gap: 2.4rem 2rem;
  margin-top: 2.4rem; }}
.sign div {{ border-top: 1px solid {PRINT[Role.INK]}; font-size: 0.85rem; }}
footer {{ border-top: 1px solid {PRINT[Role.HAIRLINE]}; margin-top: 2rem; padding-top: 0.5rem; }}
@media print {{ body {{ padding: 0; max-width: none; }} @page {{ margin: 12mm; }} }}
"""


def to_html(sheet: Sheet) -> str:
    """Write a sheet as one HTML page that needs nothing beside it."""
    body = "\n".join(_write(block) for block in sheet.blocks)
    return f"""<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{escape(f"{sheet.title}: {sheet.subtitle}")}</title>
<style>{STYLE}</style>
</head>
<body>
<header><h1>{escape(sheet.title)}</h1><p>{escape(sheet.subtitle)} · {escape(sheet.status)}</p></header>
<main>
{body}
</main>
<footer>{escape(sheet.running)} · {escape(sheet.foot)}</footer>
</body>
</html>
"""


@singledispatch
def _write(block: Block) -> str:
    raise TypeError(f"no way to write {type(block).__name__} as HTML")


@_write.register
def _(block: Heading) -> str:
    level = "h3" if block.minor else "h2"
    return f"<{level}>{escape(block.text)}</{level}>"


@_write.register
def _(block: Paragraph) -> str:
    mark = ' class="quiet"' if block.quiet else ""
    return f"<p{mark}>{escape(block.text)}</p>"


@_write.register
def _(block: Bullets) -> str:
    return "<ul>" + "".join(f"<li>{escape(line)}</li>" for line in block.lines) + "</ul>"


@_write.register
def _(block: Grid) -> str:
    pairs = "".join(f"<div><dt>{escape(name)}</dt><dd>{escape(value)}</dd></div>" for name, value in block.pairs)
    return f"<dl>{pairs}</dl>"


@_write.register
def _(block: Table) -> str:
    def row(cells: tuple[str, ...], kind: str) -> str:
        marks = (' class="right"' if at in block.right else "" for at in range(len(cells)))
        inner = (f"<{kind}{mark}>{escape(cell)}</{kind}>" for cell, mark in zip(cells, marks, strict=True))
        return "<tr>" + "".join(inner) + "</tr>"

    name = "wide tall" if block.tall else "wide"
    rows = "".join(row(cells, "td") for cells in block.rows)
    return f'<div class="{name}"><table><thead>{row(block.head, "th")}</thead><tbody>{rows}</tbody></table></div>'


@_write.register
def _(block: Drawing) -> str:
    return f"<figure>{to_svg(block.scene, PRINT)}<figcaption>{escape(block.caption)}</figcaption></figure>"


@_write.register
def _(block: Equation) -> str:
    return f'<p class="equation">{escape(block.text)}</p>'


@_write.register
def _(block: Note) -> str:
    return f'<p class="note"><strong>{escape(block.mark)} {escape(block.word)}.</strong> {escape(block.text)}</p>'


@_write.register
def _(block: Signatures) -> str:
    lines = "".join(
        f"<div>{escape(what)}{escape(f': {name}') if name else ''}<br>name, date, signature</div>"
        for what, name in block.lines
    )
    return f'<div class="sign">{lines}</div>'

"""Pictures of counts, drawn on the server as SVG that stands in the page and takes its colours."""

from __future__ import annotations

import sys
from typing import Any, Final

import pygal
from markupsafe import Markup
from pygal.etree import etree
from pygal.style import Style

from tracker.services.glance import Counted
from tracker.web.pages.words import month, words

# The library hangs a finder for its plug-ins into every import of the process, written for a Python
# before 3.4; we have no plug-ins, and Python 3.11 warns of it at each import that fails.
sys.meta_path[:] = [one for one in sys.meta_path if type(one).__name__ != "PluginImportFixer"]

_FONT: Final = "system-ui"
_STYLE: Final = Style(
    font_family=_FONT, label_font_size=13, major_label_font_size=13, legend_font_size=13,
    value_font_size=12,
)  # fmt: skip
_LEGEND_IN_A_LINE: Final = 3
_UNWANTED: Final = ("style", "script", "defs", "desc", "title")
"""Elements that the policy of our pages forbids, or that say what the table beside says."""


def draw_bars(counted: Counted, title: str, *, stacked: bool = False) -> Markup:
    """Return bars as an SVG element: one group per row, one bar (or part of it) per column.

    Its colours and letters come from the page's style sheet, by the classes `series-0` and so on;
    nothing in it needs a script or a style of its own.
    """
    make = pygal.StackedBar if stacked else pygal.Bar
    chart = make(
        width=560,
        height=310,
        js=[],
        css=[],
        style=_STYLE,
        margin=8,
        # The library leaves room for one line of the legend.
        margin_bottom=8 if len(counted.columns) <= _LEGEND_IN_A_LINE else 32,
        spacing=8,
        show_legend=len(counted.columns) > 1,
        legend_at_bottom=True,
        legend_at_bottom_columns=min(_LEGEND_IN_A_LINE, len(counted.columns)),
        legend_box_size=12,
        truncate_legend=-1,
        truncate_label=-1,
        print_values_position="top",
        print_values=not stacked and len(counted.columns) == 1,
        print_zeroes=False,
        x_label_rotation=35 if len(counted.rows) > 6 else 0,
        value_formatter=lambda value: f"{value:,.0f}".replace(",", "\u202f"),
        min_scale=2,
        integer_scale=True,
    )
    chart.x_labels = [label_words(label) for label, _ in counted.rows]
    for column, name in enumerate(counted.columns):
        chart.add(words(name), [numbers[column] for _, numbers in counted.rows])
    return _tidied(chart.render_tree(), title)


def label_words(label: str) -> str:
    """Return a row's label in words, months and weeks as people write them in short."""
    if len(label) == 10 and label[4] == label[7] == "-":
        return f"{int(label[8:])} {month(label)[:3]}"
    return month(label) if len(label) == 7 and label[4] == "-" else words(label)


def _tidied(svg: Any, title: str) -> Markup:  # noqa: ANN401 - pygal's element, untyped
    """Return the drawing without what pages may not hold, told to readers by its title."""
    _strip(svg)
    svg.set("role", "img")
    svg.set("aria-label", title)
    svg.set("focusable", "false")
    svg.attrib.pop("id", None)
    text = etree.tostring(svg).decode()
    return Markup(text)  # noqa: S704 - made by the library of numbers and our words, which it escapes


def _strip(element: Any) -> None:  # noqa: ANN401 - as above
    for child in list(element):
        tag = child.tag.rpartition("}")[2] if isinstance(child.tag, str) else ""
        if not tag or tag in _UNWANTED:
            element.remove(child)
        else:
            child.attrib.pop("style", None)
            child.attrib.pop("id", None)
            _strip(child)

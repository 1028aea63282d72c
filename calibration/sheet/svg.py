"""Write a drawing as SVG, its user unit one millimetre."""

from __future__ import annotations

from xml.etree import ElementTree

from calibration.sheet.drawing import Area, Drawing, Loop, Text
from calibration.sheet.pdf import text_width_mm

SVG_NAMESPACE = "http://www.w3.org/2000/svg"


def write_svg(drawing: Drawing) -> bytes:
    """The drawing as an SVG file in UTF-8."""
    width, height = _number(drawing.width_mm), _number(drawing.height_mm)
    size = {"width": f"{width}mm", "height": f"{height}mm", "viewBox": f"0 0 {width} {height}"}
    root = ElementTree.Element("svg", {"xmlns": SVG_NAMESPACE, **size})
    ElementTree.SubElement(root, "title").text = drawing.title
    ElementTree.SubElement(root, "rect", {"width": width, "height": height, "fill": "#ffffff"})
    for shape in drawing.shapes:
        if isinstance(shape, Text):
            _add_text(root, shape)
        else:
            _add_area(root, shape)
    return bytes(ElementTree.tostring(root, encoding="utf-8", xml_declaration=True))


def _add_area(root: ElementTree.Element, area: Area) -> None:
    path = "".join(_path(loop) for loop in area.loops)
    ElementTree.SubElement(root, "path", {"d": path, "fill": _colour(area.grey), "fill-rule": "evenodd"})


def _path(loop: Loop) -> str:
    return "M" + " L".join(f"{_number(x)} {_number(y)}" for x, y in loop) + " Z"


def _add_text(root: ElementTree.Element, text: Text) -> None:
    """The text with its length fixed, so that it fits whichever font the viewer has."""
    x, y = _number(text.at[0]), _number(text.at[1])
    attributes = {
        "x": x,
        "y": y,
        "font-family": "Helvetica, Arial, sans-serif",
        "font-size": _number(text.size_mm),
        "font-weight": "bold" if text.bold else "normal",
        "text-anchor": text.anchor,
        "textLength": _number(text_width_mm(text)),
        "lengthAdjust": "spacingAndGlyphs",
        "fill": _colour(text.grey),
    }
    if text.upward:
        attributes["transform"] = f"rotate(-90 {x} {y})"
    ElementTree.SubElement(root, "text", attributes).text = text.words.replace("  ", " \u00a0")


def _number(value: float) -> str:
    """A length to a tenth of a micrometre, far finer than any printer."""
    return f"{value:.4f}".rstrip("0").rstrip(".")


def _colour(grey: float) -> str:
    return "#" + 3 * f"{round(255 * grey):02x}"

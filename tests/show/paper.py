"""Printed pages as other programs read them: text by page, sizes, QR codes."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Callable
from pathlib import Path

Tool = Callable[[str], str]
A4, LETTER = (210.0, 297.0), (215.9, 279.4)  # mm: ISO 216; ANSI/ASME Y14.1


def said(*command: str | Path) -> bytes:
    return subprocess.run(list(map(str, command)), capture_output=True, check=True).stdout


def pages(tool: Tool, path: Path, order: str = "-layout") -> list[str]:
    """The text of each page, spaces and line breaks made one space.

    `order` is -layout as it lies on the paper, or -raw as it was written, columns apart.
    """
    text = said(tool("pdftotext"), order, path, "-").decode().replace("\u200b", "")
    return [" ".join(page.split()) for page in text.split("\f")[:-1]]


def sizes(tool: Tool, path: Path) -> list[tuple[float, float]]:
    """Width and height of each page in mm."""
    info = said(tool("pdfinfo"), "-l", "-1", path).decode()
    found = re.findall(r"^Page\s+\d+ size:\s+([\d.]+) x ([\d.]+) pts", info, re.M)
    return [(float(wide) / 72 * 25.4, float(high) / 72 * 25.4) for wide, high in found]


def codes(tool: Tool, path: Path) -> list[str]:
    """The texts of the QR codes that can be read off the printed pages, page by page."""
    import numpy as np
    import zxingcpp

    images, found = said(tool("pdftoppm"), "-r", "110", "-gray", path), []
    while images:
        head = re.match(rb"P5\s(\d+) (\d+)\s255\s", images)
        assert head is not None
        wide, high = int(head[1]), int(head[2])
        pixels = np.frombuffer(images[head.end() :], dtype=np.uint8, count=wide * high)
        found += [one.text for one in zxingcpp.read_barcodes(pixels.reshape(high, wide))]
        images = images[head.end() + wide * high :]
    return found


def is_of(paper: tuple[float, float], size: tuple[float, float]) -> bool:
    return all(abs(one - other) < 0.5 for one, other in zip(paper, size, strict=True))

"""``monitor manual``: the user's manual on paper."""

import argparse
import os
import re
import sys
from pathlib import Path

from monitor.cli.manual.document import MANUAL, manual_text
from monitor.cli.paths import ROOT
from shared.cautions import NO_DEVICE, SECOND_LOOK
from shared.errors import ConfigurationError

#: Of a picture on paper, in pixels of Qt's document, where a page of A4 with its margins is 680 wide.
_WIDE = 640
#: An SVG and a PDF are sized by this resolution; Qt's documents think in it.
_DPI = 96
#: Below each page's text, in pixels: the caution, and which page it is.
_FOOT = 44


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Describe the command line."""
    parser.description = "The user's manual, for charge nurse and perfusionist, as a PDF of A4 with its pictures."
    parser.add_argument("--pdf", type=Path, required=True, metavar="FILE", help="write it there")


def run(args: argparse.Namespace) -> int:
    """Write the manual.

    Raises:
        ConfigurationError: the manual cannot be read, or the file cannot be written.
    """
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    from PySide6.QtWidgets import QApplication

    application = QApplication.instance() or QApplication(sys.argv[:1])
    pages = write_manual(args.pdf)
    print(f"{args.pdf}: {pages} pages", file=sys.stderr)
    del application
    return 0


def write_manual(path: Path, root: Path = ROOT) -> int:
    """Write the manual as a PDF, the caution below every page; give how many pages it has. Needs a QApplication.

    Raises:
        ConfigurationError: the manual cannot be read, or the file cannot be written.
    """
    from PySide6.QtCore import QMarginsF, QRectF, QSizeF, Qt, QUrl
    from PySide6.QtGui import QPageLayout, QPageSize, QPainter, QPdfWriter, QTextDocument

    from monitor.desk.paint.fonts import font

    try:
        path.open("ab").close()
    except OSError as error:
        raise ConfigurationError(f"--pdf {path}: cannot be written: {error.strerror or error}") from None
    document = QTextDocument()
    document.setBaseUrl(QUrl.fromLocalFile(str((root / MANUAL).parent) + "/"))
    document.setDefaultFont(font(13))
    document.setMarkdown(manual_text(root))
    html = re.sub(r"<img ([^>]*?)/?>", rf'<img \1 width="{_WIDE}" />', document.toHtml())
    document.setHtml(_aired(html))
    writer = QPdfWriter(str(path))
    writer.setResolution(_DPI)
    writer.setTitle("Weirkeeper at the desk")
    writer.setPageLayout(
        QPageLayout(QPageSize(QPageSize.PageSizeId.A4), QPageLayout.Orientation.Portrait, QMarginsF(12, 12, 12, 12))
    )
    wide, high = writer.width(), writer.height() - _FOOT
    document.documentLayout().setPaintDevice(writer)
    document.setPageSize(QSizeF(wide, high))
    pages = document.pageCount()
    painter = QPainter(writer)
    for page in range(pages):
        if page:
            writer.newPage()
        painter.save()
        painter.translate(0, -page * high)
        document.drawContents(painter, QRectF(0, page * high, wide, high))
        painter.restore()
        painter.setFont(font(11))
        foot = QRectF(0, high, wide, _FOOT)
        for side, words in (
            (Qt.AlignmentFlag.AlignLeft, f"{SECOND_LOOK}\n{NO_DEVICE}"),
            (Qt.AlignmentFlag.AlignRight, f"{page + 1} of {pages}"),
        ):
            painter.drawText(foot, side | Qt.AlignmentFlag.AlignBottom, words)
    painter.end()
    return pages


def _aired(html: str) -> str:
    """Put room above headings and between pictures: Markdown has none."""
    html = re.sub(r"(<h\d style=\" margin-top:)0px; margin-bottom:0px", r"\g<1>18px; margin-bottom:6px", html)
    return re.sub(r"/>\s*<img", "/></p><p style='margin-top:8px; margin-bottom:6px'><img", html)

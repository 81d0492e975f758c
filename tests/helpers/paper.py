"""What stands on the pages of a PDF."""

from pathlib import Path

from PySide6.QtPdf import QPdfDocument


def pages(path: Path) -> list[str]:
    """Give the words of each page, in one line."""
    document = QPdfDocument()
    assert document.load(str(path)) is QPdfDocument.Error.None_
    texts = [document.getAllText(page).text() for page in range(document.pageCount())]
    document.close()
    return [" ".join(text.split()) for text in texts]

"""One part of the frame told on one sheet: the same content for the terminal, the page, the PDF and JSON."""

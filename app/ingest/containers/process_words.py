"""What the process that reads workbooks and pages is told to take a file for."""

BOOK = "workbook"
PAGE = "page"

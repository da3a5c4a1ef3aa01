"""Office workbooks as text: sheets, rows and cells, without the database."""

"""Between plan and judgement: sheets, pages, the recorder, and the reader of readings."""

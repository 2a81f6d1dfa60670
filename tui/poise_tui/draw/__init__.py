"""Drawing: count grids become cells of text; nothing here reads a file or knows a terminal library's screen."""

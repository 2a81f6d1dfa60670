"""BMP: its codec, the header of its files, and the guard that checks it before any library reads them."""

"""WebP: its codec, the chunks of its files, and the guard that checks them before any library reads them."""

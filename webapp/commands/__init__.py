"""One module per command, or per pair of them."""

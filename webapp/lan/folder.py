"""Where the certificates of a data folder lie."""

CERTIFICATES = "certificates"
AUTHORITY_FILE, AUTHORITY_KEY = "authority.crt", "authority.key"
CHAIN_FILE, CHAIN_KEY = "server.pem", "server.key"

"""The van's laptop on its own network: a certificate of its own, TLS in front of the server, and the page
by which a phone comes to trust it.

names.py          what this machine is called on the network, and its addresses
certificates.py   the certificate authority of the data folder, and the certificate for those names
relay.py          TLS in, plain HTTP on
setup_page.py     the plain page with the certificate
"""

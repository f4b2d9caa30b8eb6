"""Who may do what: credentials, roles, the table of rules, limits on how often.

granting.py   invitations, devices, client links: made, taken, revoked
who.py        who sends this request
rules.py      which role each address is for
guard.py      the check before every request, and what routes ask of it
limits.py     how often
"""

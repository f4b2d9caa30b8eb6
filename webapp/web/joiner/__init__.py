"""The app's modules joined into two scripts, in Python: what the phone loads in place of 250 files.

It takes the forms of import and export that ``modules.py`` names and refuses every other with its place.
"""
